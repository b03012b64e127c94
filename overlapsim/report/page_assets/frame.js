// Remembers which units the reader chose; without it the switch works all the same.
// And a table that has no more to show to the side is no stop for the keyboard; in the list of sections,
// one line on a phone, the link in focus is seen whole.
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
  addEventListener("DOMContentLoaded", () => {
    const seen = new ResizeObserver((changed) => {
      for (const { target } of changed) {
        const box = target.closest(".wide");
        box.tabIndex = box.scrollWidth > box.clientWidth ? 0 : -1;
      }
    });
    for (const one of document.querySelectorAll(".wide, .wide > table")) seen.observe(one);
    document.querySelector("nav")?.addEventListener("focusin", ({ target }) => {
      target.scrollIntoView({ block: "nearest", inline: "nearest" });
    });
  });
})();
