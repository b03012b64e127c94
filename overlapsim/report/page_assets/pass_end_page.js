// The pass-end page: boxes for what is taped, entered and dug; the answer; a scenario to copy.
(() => {
  "use strict";
  const { words, rowsOf, answer, view } = globalThis.passEnd;
  const root = document.getElementById("pass-end-view");
  const form = document.getElementById("machine");
  if (!root || !form) return;
  const us = () => document.documentElement.dataset.units !== "metric";
  const find = (name) => document.querySelector(`[data-${name}]`);

  // Sizes of units as whole fractions, so that what is typed becomes the same number as in the program.
  const UNITS = { in: [254, 10000], cm: [1, 100], mph: [44704, 100000], "km/h": [10, 36], s: [1, 1], "": [1, 1] };
  const unitOf = (kind) => ({ length: us() ? "in" : "cm", speed: us() ? "mph" : "km/h", time: "s" })[kind] ?? "";
  const AS_GOOD = 0.0127; // m: half an inch, a tape's error
  const read = (text, unit) => {
    const found = /^\s*(\d{1,5})(?:[.,](\d{1,6}))?\s*$/.exec(text);
    if (!found) return NaN;
    const [, whole, part = ""] = found, [over, under] = UNITS[unit];
    return Number(whole + part) * over / (10 ** part.length * under);
  };
  const tidy = (value) => String(Number(value.toFixed(4)));
  const boxes = [...form.querySelectorAll("input[data-kind]")];
  const box = (name) => form.elements[name];
  const value = (name) => read(box(name).value, box(name).dataset.unit);
  const rear = () => form.elements.ranks.value === "2";

  // Boxes change their unit with the page; what they hold stays the same length or speed.
  const inUnits = () => {
    for (const one of boxes) {
      const unit = unitOf(one.dataset.kind), before = one.dataset.unit;
      if (before !== unit) {
        const [a, b] = UNITS[before], [c, d] = UNITS[unit], held = Number(one.value.replace(",", "."));
        if (one.value.trim() && Number.isFinite(held)) one.value = tidy(held * a * d / (b * c));
        one.dataset.unit = unit;
      }
      form.querySelector(`[data-unit-of="${one.name}"]`).textContent = unit;
    }
  };

  const RANGES = { // what no machine has is refused
    length: [0.05, 12], speed: [0.2, 9], time: [0, 3], count: [1, 64],
  };
  const NOUNS = { length: "a length", speed: "a speed", time: "a time", count: "a number of rows" };
  const wrong = () => {
    const faults = [];
    for (const one of boxes) {
      one.removeAttribute("aria-invalid");
      if ((one.dataset.rear !== undefined && !rear()) || (one.dataset.may !== undefined && !one.value.trim())) continue;
      const [low, high] = RANGES[one.dataset.kind], v = value(one.name);
      const whole = one.dataset.kind !== "count" || Number.isInteger(v);
      if (v >= low && v <= high && whole) continue;
      one.setAttribute("aria-invalid", "true");
      faults.push(`${form.querySelector(`label[for="${one.id}"]`).textContent}: ${one.value.trim() || "nothing"} is not ${NOUNS[one.dataset.kind]} that a machine has.`);
    }
    if (!faults.length && rear()) {
      if (Math.abs(value("rear_rows") - value("front_rows")) > 1) faults.push("The rear rank has as many rows as the front rank, or one more or fewer.");
      if (value("rear_behind") <= value("front_behind")) faults.push("The rear rank is not behind the front rank.");
    }
    return faults;
  };

  const machine = () => {
    const spacing = value("spacing"), rows = value("front_rows"), ranks = [];
    const latency = (name, time) => (box(name).value.trim() ? value(name) : value(time));
    const times = { on_latency: latency("on_latency", "on"), off_latency: latency("off_latency", "off") };
    ranks.push({ name: "front", rows, right: 0, behind: value("front_behind"), ...times });
    if (rear()) {
      const right = value("rear_rows") === rows ? -spacing / 2 : 0;
      ranks.push({ name: "rear", rows: value("rear_rows"), right, behind: value("rear_behind"), ...times });
    }
    return { ranks, spacing };
  };

  const dataOf = () => {
    const { ranks, spacing } = machine(), unit = us();
    const entered = { offset: [value("offset")], on: value("on"), off: value("off") };
    const data = {
      line: "line", rows: rowsOf(ranks, spacing), ranks, working: value("speed"), at_on: 1, at_off: 1, lag: 0, wanted: 0,
      seed: box("seed").value.trim() ? value("seed") : 0.1524, more: 0, behind_what: "behind the hitch pin",
      offset_step: unit ? 0.0127 : 0.01, time_step: 0.05, us: unit, totals: null,
      settings: [{ name: "now", ...entered }, { name: "type in", ...entered }],
    };
    const set = {
      ...entered, speed: data.working,
      onLatency: ranks.map((one) => one.on_latency), offLatency: ranks.map((one) => one.off_latency),
    };
    const found = answer(data, set, AS_GOOD);
    data.settings[1].offset = [found.offset];
    return { data, found, now: entered.offset[0] };
  };

  const written = (name, unit = box(name).dataset.unit) => {
    const held = Number(box(name).value.replace(",", "."));
    return `"${held} ${unit}"`;
  };
  const scenario = () => {
    const shift = rear() && value("rear_rows") === value("front_rows"), { unit } = box("spacing").dataset;
    const half = (part) => `"${String(Number((Number(box("spacing").value.replace(",", ".")) * part).toFixed(8)))} ${unit}"`;
    const rank = (name, extra = []) => [`[machine.ranks.${name}]`, `rows = ${value(`${name}_rows`)}`,
      `spacing = ${written("spacing")}`, `behind_pin = ${written(`${name}_behind`)}`, ...extra, ""];
    const latency = ["on_latency", "off_latency"].filter((name) => box(name).value.trim());
    return [
      "# Copied from the pass-end page. Without a [field] a textbook field is taken.",
      'title = "From the pass-end page"', "", "[machine]", 'setup = "planting"', "",
      ...rank("front"), ...(rear() ? rank("rear", shift ? [`right = ${half(-0.5)}`] : []) : []),
      "[machine.setups.planting]", `ranks = [${rear() ? '"front", "rear"' : '"front"'}]`,
      ...(shift ? [`hitch_shift = ${half(0.25)}`] : []), "",
      "[speed]", `working = ${written("speed")}`, "",
      "[switching]", `reference_offset = ${written("offset")}`, `turn_on_time = ${written("on")}`,
      `turn_off_time = ${written("off")}`, "",
      ...(latency.length ? ["[response]", ...latency.map((name) => `${name} = ${written(name)}`), ""] : []),
      ...(box("seed").value.trim() ? ["[seed]", `spacing = ${written("seed")}`, ""] : []),
    ].join("\n");
  };

  const tell = (found, now) => {
    const unit = us(), [low, high] = words.inside(...found.good, unit), same = Math.abs(found.offset - now) < 5e-5;
    find("do").textContent = same ? "Leave it as it is" : "Type in";
    find("number").textContent = words.short(found.offset, unit);
    find("was").textContent = same ? "" : `now ${words.short(now, unit)}`;
    find("ways").textContent = `behind the hitch pin = ${words.ways(found.offset, unit).join(" = ")}`;
    find("good").textContent = low === high ? `nothing else is as good`
      : `${low} to ${high} ${unit ? "in" : "cm"} is just as good`;
    find("gap").textContent = same ? `longest gap in a row ${words.short(found.gapNow, unit)}`
      : `longest gap in a row now ${words.short(found.gapNow, unit)}, then ${words.short(found.gapThen, unit)}`;
    const assumed = ["on_latency", "off_latency"].filter((name) => !box(name).value.trim());
    find("assumed").textContent = assumed.length
      ? `ASSUMED: ${assumed.map((name) => name.replace("_", " ")).join(" and ")} as long as the time entered. Dig to find out.` : "";
  };

  let shown = null;
  const reckon = () => {
    inUnits();
    for (const one of form.querySelectorAll("[data-with-rear]")) one.hidden = !rear();
    const faults = wrong();
    find("faults").textContent = faults.join(" ");
    find("reckoned").hidden = faults.length > 0;
    if (faults.length) return;
    const { data, found, now } = dataOf();
    tell(found, now);
    find("toml").value = scenario();
    find("toml").rows = find("toml").value.split("\n").length + 2; // all of it, on paper too
    if (shown) shown.load(data); else shown = view(root, data);
  };

  find("copy").addEventListener("click", async () => {
    const text = find("toml"), said = find("copied");
    text.focus();
    text.select();
    try {
      await navigator.clipboard.writeText(text.value);
      said.textContent = "Copied. Paste it into a file that ends in .toml.";
    } catch {
      said.textContent = "Not copied: this browser does not let the page do it. The text is selected; copy it by hand.";
    }
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", reckon);
  document.addEventListener("units", reckon);
  for (const one of document.querySelectorAll("[data-with-script]")) one.hidden = false;
  reckon();
})();
