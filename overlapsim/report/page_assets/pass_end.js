// Sliders of the pass end: what is moved redraws the rows and reads the field's totals at once.
(() => {
  "use strict";
  const { words, squareEnds, opened, fieldTotals, draw, MPH, KMH } = globalThis.passEnd;
  const us = () => document.documentElement.dataset.units !== "metric";
  const QUIET = 500; // ms without a move before a reader of the screen is told

  const late = (data, ends, end, k) => {
    const row = data.rows.rank.indexOf(k);
    return words.late(ends[end][row], end, us());
  };
  // Rank by rank in its colour, as texts: names come from files.
  const tellRanks = (place, data, ends, end) => place.replaceChildren(...data.ranks.flatMap((rank, k) => {
    const one = document.createElement("span");
    one.className = `rank${k}`;
    one.textContent = `${data.ranks.length > 1 ? rank.name : "every row"} ${late(data, ends, end, k)}`;
    return [one, " "];
  }));
  const told = (data, ends, end) =>
    data.ranks.map((rank, k) => `${data.ranks.length > 1 ? rank.name : "every row"} ${late(data, ends, end, k)}`).join(", ");

  // Draws both ends and says where rows stand; both pages that show a pass end use it.
  const showEnds = (root, data, set) => {
    const ends = squareEnds(data, set);
    for (const [end, word] of [["off", "stops"], ["on", "starts"]]) {
      const text = told(data, ends, end);
      tellRanks(root.querySelector(`[data-told="${end}"]`), data, ends, end);
      draw(root.querySelector(`[data-draw="${end}"]`), data, set, ends, end, `${word}: ${text}`);
    }
    return ends;
  };

  const typed = (data, metres) => words.short(metres + data.more, us());
  const steps = (low, high, step, always) => {
    const first = Math.min(low, ...always), last = Math.max(high, ...always);
    const base = Math.ceil(first / step - 1e-6) * step;
    return { base, step, count: Math.max(1, Math.floor((last - base) / step + 1e-6)) };
  };

  // What each slider moves: how it is read and set, its steps, and how its value is written.
  const knobs = (data) => {
    const behind = data.ranks.map((rank) => rank.behind + data.more), { settings } = data;
    const wide = [Math.min(...behind) - 0.5, Math.max(...behind) + 0.5];
    const pace = data.us ? [0.5 * MPH, 12 * MPH] : [KMH, 20 * KMH];
    const made = {};
    settings[0].offset.forEach((_, k) => {
      made[`offset${k}`] = {
        ...steps(...wide, data.offset_step, settings.map((one) => (one.offset[k] ?? one.offset[0]) + data.more)),
        get: (set) => set.offset[k] + data.more,
        put: (set, value) => { set.offset[k] = value - data.more; },
        say: (set) => typed(data, set.offset[k]),
      };
    });
    made.speed = {
      ...steps(2 * pace[0], pace[1], pace[0], [data.working]),
      get: (set) => set.speed, put: (set, value) => { set.speed = value; }, say: (set) => words.speed(set.speed, us()),
    };
    for (const end of ["on", "off"]) {
      made[end] = {
        ...steps(0, 1.5, data.time_step, settings.map((one) => one[end])),
        get: (set) => set[end], put: (set, value) => { set[end] = value; }, say: (set) => words.time(set[end]),
      };
      const key = `${end}Latency`;
      made[key] = {
        ...steps(0, 1.5, 0.01, data.ranks.map((rank) => rank[`${end}_latency`])),
        get: (set) => set[key][0],
        put: (set, value) => { const by = value - set[key][0]; set[key] = set[key].map((old) => Math.max(old + by, 0)); },
        say: (set) => [...new Set(set[key].map(words.time))].join(", "),
      };
    }
    return made;
  };

  const begin = (data, which) => {
    const one = data.settings[which];
    return {
      offset: data.settings[0].offset.map((_, k) => one.offset[k] ?? one.offset[0]),
      speed: data.working, on: one.on, off: one.off,
      onLatency: data.ranks.map((rank) => rank.on_latency),
      offLatency: data.ranks.map((rank) => rank.off_latency),
    };
  };

  // Settings that were simulated in full have their areas from there.
  const simulated = (data, set) => {
    const text = JSON.stringify(set), one = data.settings.find((_, k) => JSON.stringify(begin(data, k)) === text);
    return one && { parts: one.areas };
  };

  // Drawing, sliders and figures of one element; `load` gives it other data.
  const view = (root, first) => {
    let data, totals, now, all, set, waiting = 0;
    const find = (name) => root.querySelector(`[data-${name}]`);

    const showTotals = (ends) => {
      const gaps = [ends, squareEnds(data, now)].map((one) => words.short(one.gap, us()));
      root.querySelectorAll('[data-cell="gap"]').forEach((cell, n) => { cell.textContent = gaps[n]; });
      const live = (key, text) => {
        const place = root.querySelector(`[data-live="${key}"]`);
        place.textContent = text;
        if (key === "total") place.parentElement.hidden = !text;
      };
      live("gap", gaps[0]);
      live("total", "");
      if (!totals) return "";
      const found = [set, now].map((one) => simulated(data, one) ?? fieldTotals(data, totals, one));
      const written = found.map((one) => one && words.areas(one.parts, us()));
      ["skip", "overlap", "off_field", "total"].forEach((key, q) => {
        root.querySelectorAll(`[data-cell="${key}"]`).forEach((cell, n) => {
          const one = written[n];
          cell.textContent = one ? `${q < 3 ? one.parts[q] : one.total} ${one.unit}` : "–";
        });
      });
      find("beyond").hidden = Boolean(found[0]);
      live("total", written[0] ? `${written[0].total} ${written[0].unit}` : "");
      return written[0] ? ` On the field in all ${written[0].total} ${written[0].unit}.` : "";
    };
    const show = () => {
      const ends = showEnds(root, data, set), text = showTotals(ends);
      for (const [key, knob] of Object.entries(all)) {
        const slider = root.querySelector(`[data-knob="${key}"]`), said = knob.say(set);
        slider.value = String(Math.round((knob.get(set) - knob.base) / knob.step));
        slider.setAttribute("aria-valuetext", said);
        slider.parentElement.querySelector("output").textContent = said;
      }
      clearTimeout(waiting);
      waiting = setTimeout(() => {
        find("summary").textContent = `Longest gap ${words.short(ends.gap, us())}. Starts: ${told(data, ends, "on")}. `
          + `Stops: ${told(data, ends, "off")}.${text}`;
      }, QUIET);
    };
    const load = (given) => {
      data = given;
      [totals, now, all] = [data.totals && opened(data.totals), begin(data, 0), knobs(data)];
      set = begin(data, data.settings.length - 1);
      for (const [key, knob] of Object.entries(all)) {
        root.querySelector(`[data-knob="${key}"]`).max = String(knob.count);
      }
      show();
    };
    for (const slider of root.querySelectorAll("[data-knob]")) {
      slider.addEventListener("input", () => {
        const knob = all[slider.dataset.knob];
        knob.put(set, knob.base + Number(slider.value) * knob.step);
        show();
      });
    }
    for (const button of root.querySelectorAll("[data-set]")) {
      button.addEventListener("click", () => { set = begin(data, Number(button.dataset.set)); show(); });
    }
    for (const one of root.querySelectorAll("[data-with-script]")) one.hidden = false;
    document.addEventListener("units", show);
    load(first);
    // For whoever wants to look inside: settings in, the page's own figures out.
    root.passEnd = {
      load,
      get settings() { return structuredClone(set); },
      put: (changes) => { set = { ...set, ...changes }; show(); },
      totals: (changes) => totals && fieldTotals(data, totals, { ...set, ...changes }),
    };
    return root.passEnd;
  };

  Object.assign(globalThis.passEnd, { view, told });
  const root = document.getElementById("pass-end-view");
  const held = document.getElementById("pass-end-data");
  if (root && held) view(root, JSON.parse(held.textContent));
})();
