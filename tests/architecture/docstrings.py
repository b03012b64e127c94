"""A reader of docstrings: holds each public signature against the page that describes it."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import re
import textwrap
from collections.abc import Callable, Iterator
from functools import cached_property
from types import ModuleType
from typing import Any

_RULE = re.compile(r"^-{3,}$")
_ENTRY = re.compile(r"^(\*{0,2}\w+(?:\s*,\s*\*{0,2}\w+)*)(?:\s*:\s*(.*))?$")
#: How the unit of a number is said: SI symbols and words, or that there is none.
_UNIT = re.compile(
    r"(?<![\w/])(?:m|s|m/s|m2|m²|1/m²|rad|Hz|s/m|m/rad|deg|SI"
    r"|(?i:degrees?|metres?|seconds?|radians?|hertz|inches|ratio|share|fraction|relative|weights?|slope"
    r"|(?:no|any|its|same|that) unit|digits|0 to 1))(?!\w)"
)
#: A name that says its unit itself.
_NAMED = re.compile(r"_(?:m|m2|s|rad|m_per_s|m_per_m|deg)$")


def public_modules(package: ModuleType) -> list[str]:
    """Name every module of a package whose path has no underscore part, the package included."""
    import pkgutil

    found = [package.__name__]
    for info in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        if not any(part.startswith("_") for part in info.name.split(".")):
            found.append(info.name)
    return found


def sections(text: str) -> dict[str, list[str]]:
    """Split a docstring into its sections; the summary and what follows it stand under ''."""
    lines = inspect.cleandoc(text).splitlines()
    result: dict[str, list[str]] = {"": []}
    name, at = "", 0
    while at < len(lines):
        if at + 1 < len(lines) and lines[at].strip() and _RULE.match(lines[at + 1].strip()):
            name, at = lines[at].strip(), at + 2
            result[name] = []
            continue
        result[name].append(lines[at])
        at += 1
    return result


def entries(lines: list[str]) -> dict[str, tuple[str, str]]:
    """Read `name : type` entries with their indented descriptions: name -> (type, description)."""
    result: dict[str, tuple[str, str]] = {}
    names: list[str] = []
    for line in lines:
        if line and not line[0].isspace():
            match = _ENTRY.match(line)
            names = [n.strip().lstrip("*") for n in match[1].split(",")] if match else []
            for name in names:
                result[name] = ((match[2] or "") if match else "", "")
        elif names and line.strip():
            for name in names:
                kind, said = result[name]
                result[name] = (kind, f"{said} {line.strip()}".strip())
    return result


def public_objects(module: ModuleType) -> Iterator[tuple[str, Any, str]]:
    """Give (name, object, kind) of all that a module defines in public, its classes' members too.

    Kinds: ``module``, ``class``, ``function``, ``property``, ``alias`` (a public name of a private method).
    Inherited members are left to the base.
    """
    yield module.__name__, module, "module"
    for name, value in vars(module).items():
        if name.startswith("_") or getattr(value, "__module__", None) != module.__name__:
            continue
        where = f"{module.__name__}.{name}"
        if inspect.isclass(value):
            yield where, value, "class"
            for key, member in vars(value).items():
                if key.startswith("_"):
                    continue
                if isinstance(member, property):
                    yield f"{where}.{key}", member.fget, "property"
                elif isinstance(member, cached_property):
                    yield f"{where}.{key}", member.func, "property"
                elif isinstance(member, staticmethod | classmethod):
                    yield f"{where}.{key}", member.__func__, "function"
                elif inspect.isfunction(member) and member.__name__.startswith("_"):
                    yield f"{where}.{key}", member, "alias"  # one refusal under many names: words are enough
                elif inspect.isfunction(member):
                    yield f"{where}.{key}", member, "function"
        elif callable(value):
            yield where, inspect.unwrap(value), "function"


def faults(name: str, obj: Any, kind: str) -> list[str]:
    """Say what is missing in the docstring of one public object; an empty list when nothing is."""
    text = getattr(obj, "__doc__", None)
    if not text or not text.strip():
        return [f"{name}: no docstring"]
    said = sections(text)
    if not any(line.strip() for line in said[""]):
        return [f"{name}: no summary"]
    if kind == "function":
        return [f"{name}: {fault}" for fault in _function_faults(obj, said)]
    if kind == "class":
        return [f"{name}: {fault}" for fault in _class_faults(obj, said)]
    if kind == "property" and _is_number(_annotation(obj, "return")) and not _says_unit(name, text):
        return [f"{name}: no unit is said"]
    return []


def _says_unit(name: str, words: str) -> bool:
    return bool(_NAMED.search(name) or _UNIT.search(words))


def _function_faults(function: Callable[..., Any], said: dict[str, list[str]]) -> Iterator[str]:
    parameters = [p for p in inspect.signature(function).parameters if p not in ("self", "cls")]
    yield from _compare(parameters, entries(said.get("Parameters", [])), "parameter")
    for name, (kind, words) in entries(said.get("Parameters", [])).items():
        if _is_number(_annotation(function, name)) and not _says_unit(name, f"{kind} {words}"):
            yield f"parameter {name}: no unit is said"
    returns = _annotation(function, "return")
    if returns not in ("None", "NoReturn", "") and not {"Returns", "Yields"} & set(said):
        yield "no Returns"
    if _is_number(returns) and not _UNIT.search(" ".join(said.get("Returns", []))):
        yield "Returns: no unit is said"
    documented = " ".join(said.get("Raises", []))
    for error in sorted(raised(function)):
        if error not in documented:
            yield f"raises {error}, not under Raises"


def _class_faults(cls: type, said: dict[str, list[str]]) -> Iterator[str]:
    listed = {**entries(said.get("Parameters", [])), **entries(said.get("Attributes", []))}
    fields = _fields(cls)
    if fields is None:
        own = cls.__dict__.get("__init__")
        fields = [p for p in inspect.signature(own).parameters if p != "self"] if own else []
        yield from _compare(fields, entries(said.get("Parameters", [])), "parameter")
        return
    yield from _compare(fields, listed, "attribute")
    for name, (kind, words) in listed.items():
        if _is_number(_annotation(cls, name)) and not _says_unit(name, f"{kind} {words}"):
            yield f"attribute {name}: no unit is said"


def _fields(cls: type) -> list[str] | None:
    """Name the fields that this very class declares: dataclass, pydantic model or named tuple; else None."""
    if not (dataclasses.is_dataclass(cls) or hasattr(cls, "model_fields") or hasattr(cls, "_fields")):
        return None
    declared = inspect.get_annotations(cls)
    return [n for n, kind in declared.items() if not n.startswith("_") and "ClassVar" not in str(kind)]


def _compare(real: list[str], listed: dict[str, tuple[str, str]], what: str) -> Iterator[str]:
    for name in real:
        if name not in listed:
            yield f"{what} {name} is not described"
        elif not (listed[name][0] and listed[name][1]):
            yield f"{what} {name}: type or description is missing"
    for name in listed:
        if name not in real:
            yield f"{what} {name} is described but does not exist"


def _annotation(obj: Any, name: str) -> str:
    kind = getattr(obj, "__annotations__", {}).get(name, "")
    return kind if isinstance(kind, str) else getattr(kind, "__name__", str(kind))


def _is_number(annotation: str) -> bool:
    """Whether an annotation promises a floating-point number, by itself or as an option."""
    return "float" in [part.strip() for part in annotation.split("|")]


def raised(function: Callable[..., Any]) -> set[str]:
    """Name the exceptions that a function's own body raises (not those of functions within it)."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(function))).body[0]
    found: set[str] = set()
    todo: list[ast.AST] = list(ast.iter_child_nodes(tree))
    while todo:
        node = todo.pop()
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda | ast.ClassDef):
            continue
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            target = node.exc.func
            label = target.id if isinstance(target, ast.Name) else getattr(target, "attr", "")
            if label[:1].isupper():
                found.add(label)
        todo.extend(ast.iter_child_nodes(node))
    return found
