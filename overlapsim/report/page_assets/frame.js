// Remembers which units the reader chose; without it the switch works all the same.
(() => {
  "use strict";
  const root = document.documentElement;
  const boxes = [...document.querySelectorAll('input[name="units"]')];
  const set = (units) => {
    root.dataset.units = units;
    for (const box of boxes) box.checked = box.value === units;
    document.dispatchEvent(new CustomEvent("units", { detail: units }));
  };
  try {
    const kept = localStorage.getItem("overlapsim-units");
    if (boxes.some((box) => box.value === kept)) set(kept);
  } catch { /* a page from a file may have no memory */ }
  for (const box of boxes) {
    box.addEventListener("change", () => {
      set(box.value);
      try { localStorage.setItem("overlapsim-units", box.value); } catch { /* likewise */ }
    });
  }
})();
