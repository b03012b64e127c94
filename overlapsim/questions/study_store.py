"""Where finished chunks of a study are kept; files are somebody else's business: they are handed in."""

from __future__ import annotations

from abc import ABC, abstractmethod

from overlapsim.questions.study_case import Columns


class ChunkStore(ABC):
    """Keeps finished chunks.

    `shared` tells whether what other processes of this machine save in it is seen here.
    """

    shared = False

    def has(self, key: str) -> bool:
        """Tell whether a chunk is kept, whole.

        Parameters
        ----------
        key : str
            Hash of its inputs.

        Returns
        -------
        bool
            False also for what cannot be read.
        """
        return self._has(key)

    def load(self, key: str) -> Columns:
        """Give back a chunk.

        Parameters
        ----------
        key : str
            Hash of its inputs.

        Returns
        -------
        dict of str to list or ndarray, shape (cases,)
            As it was saved, SI.
        """
        return self._load(key)

    def save(self, key: str, columns: Columns) -> None:
        """Keep a chunk, whole or not at all.

        Parameters
        ----------
        key : str
            Hash of its inputs.
        columns : dict of str to list or ndarray, shape (cases,)
            What it came to, SI.
        """
        self._save(key, columns)

    @abstractmethod
    def _has(self, key: str) -> bool: ...

    @abstractmethod
    def _load(self, key: str) -> Columns: ...

    @abstractmethod
    def _save(self, key: str, columns: Columns) -> None: ...


class Memory(ChunkStore):
    """Keeps chunks until the program ends."""

    def __init__(self) -> None:
        self.kept: dict[str, Columns] = {}

    def _has(self, key: str) -> bool:
        return key in self.kept

    def _load(self, key: str) -> Columns:
        return self.kept[key]

    def _save(self, key: str, columns: Columns) -> None:
        self.kept[key] = columns
