// Numbers as the rest of the page writes them; row ends and totals by the same sums as in the program.
// All lengths in m, times in s, speeds in m/s, areas in m²; what comes late along the way is positive.
(() => {
  "use strict";
  const INCH = 0.0254, FOOT = 0.3048, ACRE = 4046.8564224, HECTARE = 10000, MPH = 0.44704, KMH = 5 / 18;
  const SIX_DIGITS = 999999.5; // areas change to acres or hectares before a figure gets longer

  // A number with so many digits after the point, thousands parted; exact halves go to the even digit.
  const fixed = (value, digits) => {
    let size = Math.abs(value);
    const halves = size * 2 ** (digits + 1); // exact; odd where a decimal half may lie
    if (Number.isInteger(halves) && halves % 2 === 1 && halves * 5 ** digits < 2 ** 53) {
      const low = Math.floor(halves * 5 ** digits / 2);
      size = (low % 2 === 0 ? low : low + 1) / 10 ** digits;
    }
    const [whole, part] = size.toFixed(digits).split(".");
    const text = whole.replace(/\B(?=(\d{3})+$)/g, ",") + (part ? `.${part}` : "");
    return value < 0 && /[1-9]/.test(text) ? `-${text}` : text;
  };
  const plain = (value, digits = 1) => {
    const text = fixed(value, digits);
    return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  };

  // A decimal as it prints, over a unit of `per` ten-thousandths of a millimetre; halves go up.
  const decimal = (value, per, digits) => {
    const [mantissa, power = "0"] = String(Math.abs(value)).split("e");
    const [whole, part = ""] = mantissa.split(".");
    let over = BigInt(per), under = BigInt(whole + part) * 10n ** BigInt(7 + digits);
    const places = part.length - Number(power);
    if (places > 0) over *= 10n ** BigInt(places); else under *= 10n ** BigInt(-places);
    const steps = (2n * under + over) / (2n * over);
    return (value < 0 ? -1 : 1) * Number(steps) / 10 ** digits;
  };
  const UNIT = { in: 254000, ft: 3048000, m: 10000000, cm: 100000 };
  const length = (metres, unit, digits) => `${fixed(decimal(metres, UNIT[unit], digits), digits)} ${unit}`;
  const feetInches = (metres) => {
    const eighths = decimal(Math.abs(metres), UNIT.in / 8, 0);
    const feet = Math.floor(eighths / 96), inches = Math.floor((eighths % 96) / 8), part = eighths % 8;
    const divisor = [8, 1, 2, 1, 4, 1, 2, 1][part];
    const said = [];
    if (inches) said.push(inches);
    if (part) said.push(`${part / divisor}/${8 / divisor}`);
    const rest = inches || part || !feet ? `${said.join(" ") || "0"} in` : "";
    return (metres < 0 && eighths ? "-" : "") + [feet ? `${feet} ft` : "", rest].filter(Boolean).join(" ");
  };

  const shortNumber = (metres, us) => {
    const value = metres / (us ? INCH : 0.01), quarters = value * 4;
    return plain(value, us && Math.abs(quarters - Math.round(quarters)) < 1e-6 ? 2 : 1);
  };
  const words = {
    shortNumber,
    short: (metres, us) => `${shortNumber(metres, us)} ${us ? "in" : "cm"}`,
    speed: (v, us) => `${plain(v / (us ? MPH : KMH), 2)} ${us ? "mph" : "km/h"}`,
    time: (s) => `${fixed(s, Math.abs(s - Number(s.toFixed(2))) > 5e-4 ? 3 : 2)} s`,
    late: (metres, end, us) => {
      const number = plain(Math.abs(metres) / (us ? INCH : 0.01));
      if (number === "0") return "on the line";
      const word = end === "on" ? ["early", "late"] : ["short", "over"];
      return `${number} ${us ? "in" : "cm"} ${word[metres > 0 ? 1 : 0]}`;
    },
    inside: (low, high, us) => {
      const tenth = (us ? INCH : 0.01) / 10;
      const first = Math.ceil(low / tenth - 1e-6), last = Math.floor(high / tenth + 1e-6);
      if (first > last) return [shortNumber(low, us), shortNumber(high, us)];
      return [plain(first / 10), plain(last / 10)];
    },
    ways: (metres, us) => {
      let feet = [feetInches(metres), length(metres + 1e-9, "ft", 2)];
      if (!feet[0].endsWith("in")) feet = feet.slice(0, 1);
      const metric = length(metres, "m", 3);
      return us ? [...feet, metric] : [metric, length(metres, "in", 1), ...feet];
    },
    // Parts and their sum in one unit, rounded so that they add up.
    areas: (parts, us) => {
      const largest = parts.reduce((a, b) => a + b, 0);
      let unit = us ? "sq ft" : "m²", size = us ? FOOT * FOOT : 1;
      let digits = largest / size >= 100 ? 0 : largest / size >= 10 ? 1 : 2;
      if (largest / size > SIX_DIGITS) [unit, size, digits] = us ? ["ac", ACRE, 2] : ["ha", HECTARE, 2];
      const tens = 10 ** digits, steps = parts.map((part) => part / size * tens);
      const floors = steps.map(Math.floor), total = Math.floor(steps.reduce((a, b) => a + b, 0) + 0.5);
      const order = steps.map((_, i) => i).sort((i, j) => (floors[i] - steps[i]) - (floors[j] - steps[j]) || i - j);
      const missing = total - floors.reduce((a, b) => a + b, 0);
      for (const i of order.slice(0, Math.max(missing, 0))) floors[i] += 1;
      for (const i of order.reverse().slice(0, Math.max(-missing, 0))) floors[i] -= 1;
      return { unit, parts: floors.map((n) => fixed(n / tens, digits)), total: fixed(total / tens, digits) };
    },
  };

  // What a time leaves of its latency, as a way: for each rank at starts and at stops.
  const lateness = (data, set) => data.ranks.map((_, k) => [
    set.speed * data.at_on * (set.onLatency[k] - set.on + data.lag),
    set.speed * data.at_off * (set.offLatency[k] - set.off + data.lag),
  ]);
  const offsetOf = (set, k) => (set.offset.length > 1 ? set.offset[k] : set.offset[0]);
  // By how much starts and stops come later than at an offset of nothing and matched times.
  const shifts = (data, set) => lateness(data, set).map((late, k) => late.map((way) => offsetOf(set, k) + way));

  // Where each row's first and last seed lies beyond a line square to the way.
  const squareEnds = (data, set) => {
    const late = lateness(data, set), { rank, off } = data.rows;
    const ahead = data.ranks.map((one, k) => offsetOf(set, k) - one.behind);
    const ends = {
      on: rank.map((k) => ahead[k] + late[k][0] - data.wanted),
      off: rank.map((k) => ahead[k] + late[k][1] + data.wanted),
    };
    const working = rank.map((_, i) => i).filter((i) => !off[i]);
    ends.gap = Math.max(0, ...working.map((i) => Math.max(ends.on[i], -ends.off[i])));
    ends.worst = Math.max(0, ...working.map((i) => Math.max(Math.abs(ends.on[i]), Math.abs(ends.off[i]))));
    return ends;
  };

  const summed = (moves) => { let total = 0; return Float64Array.from(moves, (move) => (total += move)); };

  // Functions as the page carries them: whole steps from bend to bend, and a table of steps.
  const opened = (totals) => {
    const bends = (one) => ({ at: summed(one.at).map((n) => n * totals.place), by: one.by.map(summed) });
    const { joint } = totals;
    return {
      ...totals,
      starts: totals.starts.map(bends),
      stops: totals.stops.map(bends),
      joint: joint && { ...joint, by: joint.by.map((moves) => {
        const wide = joint.shape[1], values = new Float64Array(moves.length);
        moves.forEach((move, n) => {
          const before = n === 0 ? 0 : n % wide ? values[n - 1] : values[n - wide];
          values[n] = before + move;
        });
        return values;
      }) },
    };
  };

  const between = (one, place) => {
    let low = 0, high = one.at.length - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (one.at[middle] <= place) low = middle; else high = middle;
    }
    const share = (place - one.at[low]) / (one.at[high] - one.at[low]);
    return one.by.map((values) => values[low] + share * (values[high] - values[low]));
  };
  const onTable = (joint, start, stop) => {
    const [rows, wide] = joint.shape;
    const u = (start - joint.start) / joint.step, v = (stop - joint.stop) / joint.step;
    const j = Math.min(Math.max(Math.floor(u), 0), rows - 2), k = Math.min(Math.max(Math.floor(v), 0), wide - 2);
    const f = u - j, g = v - k, at = j * wide + k;
    return joint.by.map((t) =>
      (1 - f) * ((1 - g) * t[at] + g * t[at + 1]) + f * ((1 - g) * t[at + wide] + g * t[at + wide + 1]));
  };

  // Whether the controller's least times put no command off and its least speed is reached.
  const obeyed = (data, { least }, set) => {
    if (!least) return true;
    const on = set.speed * data.at_on * (data.lag - set.on), off = set.speed * data.at_off * (data.lag - set.off);
    return set.speed >= least.speed - 1e-9
      && (least.stretch ?? Infinity) + off - on >= set.speed * least.on
      && (least.gap ?? Infinity) + on - off >= set.speed * least.off;
  };

  // Areas of the whole field; null where a shift lies beyond what the page carries.
  const fieldTotals = (data, totals, set) => {
    if (!obeyed(data, totals, set)) return null;
    const shift = shifts(data, set), sum = [0, 0, 0], [a, b, c, d] = totals.span, hair = totals.place;
    if (!shift.every(([on, off]) => on >= a - hair && on <= b + hair && off >= c - hair && off <= d + hair)) return null;
    const add = (values) => values.forEach((value, q) => { sum[q] += value * totals.size; });
    shift.forEach(([on, off], k) => { add(between(totals.starts[k], on)); add(between(totals.stops[k], off)); });
    // The table is over the foremost rank's shifts; where ranks are apart otherwise than in the run, their mean decides.
    const mean = (end) => shift.reduce((all, both, k) => all + both[end] - totals.apart[k][end], 0) / shift.length;
    if (totals.joint) add(onTable(totals.joint, mean(0), mean(1)));
    const [union, inside, planted] = sum.map((value, q) => value + totals.constant[q]);
    const parts = [totals.plantable - union, inside - union, planted - inside].map((area) => Math.max(area, 0));
    return { parts, combined: parts.reduce((whole, part, q) => whole + part * totals.weights[q], 0) };
  };

  globalThis.passEnd = { INCH, MPH, KMH, fixed, plain, words, lateness, squareEnds, opened, fieldTotals };
})();
