// The pass end at true scale, looking down: the machine drives up the page, rows stand side by side.
// Units of the drawing are centimetres. Classes and colours are those of the page's other pass ends.
(() => {
  "use strict";
  const CM = 100, LEAST = 0.6, MOST = 4, SEED = 0.42; // m, m, share of the room that a seed takes
  const WIDEST = 18.5; // m: of a wider machine the rows from the left up to there are drawn
  const short = (value, digits = 1) => String(Number(value.toFixed(digits)));

  const shownRows = ({ rows }) =>
    rows.rank.map((_, i) => i).filter((i) => rows.right_edge[i] - rows.left_edge[0] <= WIDEST + 1e-9);

  // How far is drawn on either side of the line: the same for starts and stops.
  const windowOf = (data, ends) => {
    const working = shownRows(data).filter((i) => !data.rows.off[i]);
    const farthest = Math.max(0, ...working.map((i) => Math.max(Math.abs(ends.on[i]), Math.abs(ends.off[i]))));
    return Math.min(Math.max(farthest + 2.5 * data.seed, LEAST), MOST);
  };

  // The machine as it stands when its reference line lies on the line: pin, tongue, toolbars and row units.
  const machine = (data, offset, up, shown, size) => {
    const { rows, ranks } = data, left = rows.left_edge[0];
    const x = (metres) => short((metres - left) * CM);
    const middle = x((rows.left_edge[0] + rows.right_edge[rows.rank.length - 1]) / 2);
    const last = Math.max(...ranks.map((rank) => rank.behind));
    const parts = [`<path class="pe-frame" d="M${middle} ${up(offset)}V${up(offset - last)}"/>`];
    ranks.forEach((rank, k) => {
      const own = shown.filter((i) => rows.rank[i] === k);
      if (!own.length) return;
      const y = up(offset - rank.behind), ends = [own[0], own[own.length - 1]].map((i) => x(rows.right[i]));
      const units = own.filter((i) => !rows.off[i]).map((i) => `M${x(rows.right[i])} ${y}m0 ${short(-size * CM / 2)}v${short(size * CM)}`);
      parts.push(`<path class="pe-bar rank${k}" d="M${ends[0]} ${y}H${ends[1]}"/>`);
      parts.push(`<path class="pe-unit rank${k}" d="${units.join("")}"/>`);
    });
    parts.push(`<path class="pe-travel" d="M${middle} ${up(offset + 0.09)}v-26m-9 10l9 -10l9 10"/>`);
    parts.push(`<circle class="pe-pin" cx="${middle}" cy="${up(offset)}" r="9"/>`);
    return parts.join("");
  };

  // Starts or stops of all rows round the line.
  const picture = (data, set, ends, end, window) => {
    const { rows } = data, shown = shownRows(data), start = end === "on", error = ends[end];
    const left = rows.left_edge[0], offset = set.offset[0];
    const wide = (rows.right_edge[shown[shown.length - 1]] - left) * CM;
    const deepest = Math.max(...data.ranks.map((rank) => rank.behind));
    const above = Math.max(window, offset + 0.4), below = Math.max(window, deepest - offset + 0.25);
    const high = (above + below) * CM, line = above * CM;
    const up = (metres) => short(line - metres * CM);
    const gap = [], beyond = [];
    for (const i of shown) {
      const far = start ? above : -below; // a row that is off is missing as far as one sees
      const at = rows.off[i] ? far : Math.min(Math.max(error[i], -below), above);
      const box = `M${short((rows.left_edge[i] - left) * CM)} ${short(line)}h${short((rows.right_edge[i] - rows.left_edge[i]) * CM)}`
        + `V${up(at)}h${short((rows.left_edge[i] - rows.right_edge[i]) * CM)}z`;
      (rows.off[i] || (at > 0) === start ? gap : beyond).push(box);
    }
    const room = Math.min(data.seed, ...shown.map((i) => rows.right_edge[i] - rows.left_edge[i]));
    const size = SEED * room * CM;
    const seeds = data.ranks.map((_, k) => {
      // Dots of a line with round ends, or dashes as long as they are wide: its first one lies on the end.
      const half = k % 2 ? 0.4 * size : 0, from = start ? half : -half;
      const way = shown.filter((i) => rows.rank[i] === k && !rows.off[i] && error[i] < above && error[i] > -below)
        .map((i) => `M${short((rows.right[i] - left) * CM)} ${short(line - error[i] * CM + from)}V${start ? 0 : short(high)}`);
      const dashes = `${short(2 * half, 2)} ${short(data.seed * CM - 2 * half, 2)}`;
      return `<path class="seeds rank${k}" d="${way.join("")}" stroke-width="${short(size)}" stroke-dasharray="${dashes}"`
        + `${half ? "" : ' stroke-linecap="round"'}/>`;
    });
    const outside = start ? `y="${short(line)}" height="${short(high - line)}"` : `height="${short(line)}"`;
    return {
      box: `0 0 ${short(wide)} ${short(high)}`,
      inside: `<rect class="ground" width="${short(wide)}" height="${short(high)}"/>`
        + `<rect class="outside" width="${short(wide)}" ${outside}/><path class="gap" d="${gap.join("")}"/>`
        + `<path class="beyond" d="${beyond.join("")}"/>${seeds.join("")}`
        + `<path class="edge" d="M0 ${short(line)}h${short(wide)}"/>${machine(data, offset, up, shown, room)}`,
    };
  };

  // Draws into an element of its own; what the page held there before a script ran is replaced.
  const draw = (place, data, set, ends, end, label) => {
    if (!place.querySelector("svg.pe-strip")) place.innerHTML = '<svg class="strip pe-strip" role="img"></svg>';
    const svg = place.firstElementChild;
    const made = picture(data, set, ends, end, windowOf(data, ends));
    svg.setAttribute("viewBox", made.box);
    svg.setAttribute("aria-label", label);
    svg.innerHTML = made.inside; // numbers and the page's own class names only
  };

  Object.assign(globalThis.passEnd, { draw, picture, windowOf });
})();
