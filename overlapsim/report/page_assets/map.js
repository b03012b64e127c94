// The map: come nearer, move about, and see the rows of a pass end. All geometry stands in the page already.
(() => {
  "use strict";
  const map = document.getElementById("field-map");
  if (!map) return;
  const root = document.documentElement;
  const held = document.getElementById("map-data");
  const data = held ? JSON.parse(held.textContent) : null;
  const box = map.parentElement; // takes the keys: WebKit scrolls past a drawing that is focused itself
  const panel = document.getElementById("rows");
  const wider = document.getElementById("wider");
  const fixed = document.getElementById("map-scale");
  const whole = map.viewBox.baseVal;
  const home = { x: whole.x, y: whole.y, w: whole.width, h: whole.height };
  const view = { ...home };
  const NS = map.namespaceURI;
  const CLOSEST = 300; // cm across: a few rows
  const WIDER = 3.6; // dots by which the widest kind of lost ground is drawn wider, as in the style sheet
  let chosen = -1;

  const make = (name, attributes, parent) => {
    const one = document.createElementNS(NS, name);
    for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
    if (parent) parent.append(one);
    return one;
  };
  const ring = make("circle", { class: "chosen", r: 0, cx: 0, cy: 0, visibility: "hidden" }, map);
  const us = () => root.dataset.units === "us";
  const plain = (value, digits) => Number(value.toFixed(digits)).toLocaleString("en-US");

  // Lengths as the page writes them: a tenth of an inch or of a centimetre; feet or metres on the ground.
  const late = (mm, off) => {
    const number = plain(Math.abs(mm) / (us() ? 25.4 : 10), 1);
    if (number === "0") return "on the line";
    return `${number} ${us() ? "in" : "cm"} ${off ? (mm > 0 ? "over" : "short") : mm > 0 ? "late" : "early"}`;
  };
  const ground = (cm) => {
    const size = us() ? 30.48 : 100, value = cm / size;
    if (value < 1) return us() ? `${plain(cm / 2.54, 0)} in` : `${plain(cm, 0)} cm`;
    return `${plain(value, value < 10 ? 1 : 0)} ${us() ? "ft" : "m"}`;
  };
  const round = (most) => {
    const power = 10 ** Math.floor(Math.log10(most));
    return [5, 2, 1].find((step) => step * power <= most * (1 + 1e-12)) * power;
  };

  const perDot = () => {
    const box = map.getBoundingClientRect();
    return Math.max(view.w / Math.max(box.width, 1), view.h / Math.max(box.height, 1));
  };
  let asked = false;
  const show = () => {
    asked = false;
    map.setAttribute("viewBox", `${view.x} ${view.y} ${view.w} ${view.h}`);
    map.classList.toggle("near", view.w < home.w * 0.999);
    const dot = perDot();
    for (const one of map.querySelectorAll(".spot")) {
      one.setAttribute("transform", `translate(${one.dataset.x} ${one.dataset.y}) scale(${dot})`);
    }
    if (wider) wider.textContent = ground(WIDER * dot);
    ring.setAttribute("r", 14 * dot);
    scale(dot);
  };
  const later = () => {
    if (!asked) requestAnimationFrame(show);
    asked = true;
  };
  const scale = (dot) => {
    const unit = us() ? 30.48 : 100;
    const length = round((view.w * 0.3) / unit);
    const x = view.x + 10 * dot, y = view.y + view.h - 10 * dot;
    fixed.replaceChildren();
    make("path", { class: "scale", d: `M${x} ${y}h${length * unit}` }, fixed);
    const text = make("text", { x, y: y - 6 * dot, "font-size": 12 * dot }, fixed);
    text.textContent = `${plain(length, 2)} ${us() ? "ft" : "m"}`;
  };
  const keep = () => {
    const ratio = home.h / home.w;
    view.w = Math.min(Math.max(view.w, CLOSEST), home.w);
    view.h = view.w * ratio;
    // The middle stays on the map; the whole of it stands where it stood.
    const free = view.w < home.w * 0.999 ? 0.5 : 0;
    view.x = Math.min(Math.max(view.x, home.x - free * view.w), home.x + home.w - (1 - free) * view.w);
    view.y = Math.min(Math.max(view.y, home.y - free * view.h), home.y + home.h - (1 - free) * view.h);
    later();
  };
  const place = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY);
    return point.matrixTransform(map.getScreenCTM().inverse());
  };
  const zoom = (by, x = view.x + view.w / 2, y = view.y + view.h / 2) => {
    const wide = Math.min(Math.max(view.w / by, CLOSEST), home.w), share = wide / view.w;
    view.x = x - (x - view.x) * share;
    view.y = y - (y - view.y) * share;
    view.w = wide;
    keep();
  };
  const move = (right, down) => {
    view.x += right;
    view.y += down;
    keep();
  };

  // Fingers and mouse: one moves, two come nearer, a tap asks.
  const down = new Map();
  let moved = 0;
  map.addEventListener("pointerdown", (event) => {
    down.set(event.pointerId, [event.clientX, event.clientY]);
    if (down.size === 1) moved = 0;
    if (event.pointerType === "mouse") map.setPointerCapture(event.pointerId);
  });
  map.addEventListener("pointermove", (event) => {
    const before = down.get(event.pointerId);
    if (!before) return;
    const now = [event.clientX, event.clientY], dot = perDot();
    moved += Math.hypot(now[0] - before[0], now[1] - before[1]);
    if (down.size === 2) {
      const other = [...down].find(([id]) => id !== event.pointerId)[1];
      const was = Math.hypot(before[0] - other[0], before[1] - other[1]);
      const is = Math.hypot(now[0] - other[0], now[1] - other[1]);
      const middle = place({ clientX: (now[0] + other[0]) / 2, clientY: (now[1] + other[1]) / 2 });
      if (was > 5 && is > 5) zoom(is / was, middle.x, middle.y);
    } else {
      move((before[0] - now[0]) * dot, (before[1] - now[1]) * dot);
    }
    down.set(event.pointerId, now);
  });
  const lift = (event) => {
    if (event.type === "pointerup" && down.size === 1 && moved < 8) tap(place(event));
    down.delete(event.pointerId);
  };
  for (const kind of ["pointerup", "pointercancel"]) map.addEventListener(kind, lift);
  map.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && document.activeElement !== box) return; // the page scrolls on
    event.preventDefault();
    const at = place(event);
    zoom(Math.exp(-event.deltaY / 300), at.x, at.y);
  }, { passive: false });
  map.addEventListener("dblclick", (event) => {
    const at = place(event);
    zoom(2, at.x, at.y);
  });
  const KEYS = "Keys: arrows move, + and − zoom, 0 the whole field"
    + (data ? ", n the next row end, p the one before, Escape none" : "");
  for (const [key, value] of Object.entries({
    tabindex: "0", role: "application", "aria-label": `Map. ${KEYS}`, "data-keys": KEYS,
  })) box.setAttribute(key, value);
  box.addEventListener("keydown", (event) => {
    const step = view.w / 8;
    const keys = {
      ArrowLeft: () => move(-step, 0), ArrowRight: () => move(step, 0), ArrowUp: () => move(0, -step),
      ArrowDown: () => move(0, step), "+": () => zoom(1.5), "=": () => zoom(1.5), "-": () => zoom(1 / 1.5),
      0: () => zoom(1e-6), n: () => turn(1), p: () => turn(-1),
      Escape: () => { chosen = -1; ring.setAttribute("visibility", "hidden"); tell(); },
    };
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key]();
  });
  const buttons = document.getElementById("map-buttons");
  buttons.hidden = false;
  buttons.addEventListener("click", (event) => {
    const act = { in: () => zoom(2), out: () => zoom(0.5), whole: () => zoom(1e-6), next: () => turn(1), back: () => turn(-1) };
    act[event.target.dataset.do]?.();
  });

  // Row ends.
  const tap = (at) => {
    box.focus({ preventScroll: true });
    if (!data) return;
    let nearest = -1, least = Infinity;
    data.ends.forEach(([x, y], i) => {
      const far = Math.hypot(x - at.x, y - at.y);
      if (far < least) [nearest, least] = [i, far];
    });
    if (least <= Math.max(40 * perDot(), 600)) choose(nearest, false);
  };
  const turn = (by) => {
    if (!data || !data.ends.length) return;
    choose((chosen + by + data.ends.length + (chosen < 0 && by < 0 ? 1 : 0)) % data.ends.length, true);
  };
  const choose = (i, go) => {
    chosen = i;
    const [x, y] = data.ends[i];
    ring.setAttribute("cx", x);
    ring.setAttribute("cy", y);
    ring.setAttribute("visibility", "visible");
    if (go) {
      view.w = Math.min(view.w, home.w / 8);
      view.x = x - view.w / 2;
      view.y = y - (view.w * home.h) / home.w / 2;
    }
    keep();
    tell();
    panel.firstElementChild.scrollIntoView({ block: "nearest" }); // a tall map would leave it below the screen
  };
  const tell = () => {
    panel.replaceChildren();
    if (chosen < 0) return;
    const [, , leg, off, edge, first, errors] = data.ends[chosen];
    const title = document.createElement("h3");
    const line = { boundary: "field boundary", exclusion: "exclusion", planted: "planted ground" }[data.edges[edge]];
    title.textContent = `${data.legs[leg]}, ${off ? "stops" : "starts"} at the ${line}`;
    const list = document.createElement("ul");
    list.className = "row-list";
    const text = (k) => {
      const [rank, number] = data.rows[first + k];
      const where = errors[k] === null ? "no line near" : late(errors[k], off);
      return `${data.ranks[rank]} ${number}: ${where}`;
    };
    errors.forEach((_, k) => {
      const one = document.createElement("li");
      one.textContent = text(k);
      list.append(one);
    });
    panel.append(title, drawing(off, errors, title.textContent, text), list);
  };
  // Rows from the left, the line across, true to one another: a gap on the field's side, seed beyond.
  const drawing = (off, errors, name, text) => {
    const most = Math.max(100, ...errors.map((e) => Math.abs(e ?? 0)));
    const wide = 400, high = 90, pitch = wide / errors.length;
    const svg = make("svg", { viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": `${name}, row by row` });
    errors.forEach((error, k) => {
      if (error === null) return;
      const long = (Math.abs(error) / most) * (high / 2 - 4);
      const missing = off ? error < 0 : error > 0;
      const bar = make("rect", {
        x: k * pitch + pitch * 0.1, width: pitch * 0.8, height: long, y: error > 0 ? high / 2 - long : high / 2,
        class: missing ? "bar-gap" : "bar-beyond",
      }, svg);
      make("title", {}, bar).textContent = text(k);
    });
    make("path", { class: "edge-line", d: `M0 ${high / 2}h${wide}`, stroke: "currentColor", "stroke-width": 1.5 }, svg);
    return svg;
  };

  document.addEventListener("units", () => { show(); tell(); });
  addEventListener("resize", later);
  show();
})();
