// What to type in where passes end square to the way: the same closed forms as in the program.
(() => {
  "use strict";
  const { lateness, squareEnds } = globalThis.passEnd;
  const SAME = 1e-9; // m² per pass, or m: equal but for rounding
  const sum = (values) => values.reduce((a, b) => a + b, 0);
  const ninth = (value) => Math.round(value * 1e9);

  // Rows from left to right with their strips: each reaches half-way to its neighbours.
  const rowsOf = (ranks, spacing) => {
    const places = ranks.flatMap((rank, k) =>
      Array.from({ length: rank.rows }, (_, i) => [rank.right + (i - (rank.rows - 1) / 2) * spacing, k, i + 1]));
    places.sort((a, b) => a[0] - b[0]);
    const x = places.map(([place]) => place), last = x.length - 1;
    const border = x.slice(1).map((place, i) => (place + x[i]) / 2);
    const first = last ? x[0] - (border[0] - x[0]) : x[0] - spacing / 2;
    const end = last ? x[last] + (x[last] - border[last - 1]) : x[0] + spacing / 2;
    const left = [first, ...border], right = [...border, end], middle = (first + end) / 2;
    return {
      rank: places.map(([, k]) => k), number: places.map(([, , n]) => n), off: places.map(() => 0),
      right: x.map((place) => place - middle),
      left_edge: left.map((place) => place - middle), right_edge: right.map((place) => place - middle),
    };
  };

  // Where each row end stands on the line: the offset for it, and the width of its strip; by rising offset.
  const targetsOf = (data, set) => {
    const late = lateness(data, set), { rank, left_edge, right_edge } = data.rows;
    const all = [0, 1].flatMap((end) => rank.map((k, i) => ({
      at: data.ranks[k].behind - late[k][end], width: right_edge[i] - left_edge[i],
    })));
    return all.sort((a, b) => a.at - b.at);
  };

  const answer = (data, set, asGood) => {
    const targets = targetsOf(data, set), count = targets.length;
    const cost = (r) => sum(targets.map((one) => one.width * Math.abs(r - one.at)));
    const worst = (r) => Math.max(r - targets[0].at, targets[count - 1].at - r);
    const squares = (r) => sum(targets.map((one) => one.width * (r - one.at) ** 2));
    const bestOf = (offsets) => offsets.reduce((a, b) => {
      const order = [ninth(worst(b)) - ninth(worst(a)), ninth(squares(b)) - ninth(squares(a)), b - a];
      return (order.find((difference) => difference !== 0) ?? 0) < 0 ? b : a;
    });
    const costs = targets.map((one) => cost(one.at)), least = Math.min(...costs);
    const lowest = targets.filter((_, i) => costs[i] <= least + SAME);
    const middle = (targets[0].at + targets[count - 1].at) / 2;
    const equal = [lowest[0].at, lowest[lowest.length - 1].at];
    const best = Math.min(Math.max(middle, equal[0]), equal[1]);
    const level = least + sum(targets.map((one) => one.width)) * asGood;
    const crossing = (way) => {
      const inside = targets.map((_, i) => i).filter((i) => costs[i] <= level);
      const at = way < 0 ? inside[0] : inside[inside.length - 1];
      const back = (one) => (way > 0 ? one.at <= targets[at].at : one.at >= targets[at].at);
      const rise = sum(targets.map((one) => (back(one) ? one.width : -one.width)));
      return targets[at].at + way * (level - costs[at]) / rise;
    };
    const low = crossing(-1) + asGood, high = crossing(1) - asGood;
    const good = low > high ? [best, best] : [Math.min(low, best), Math.max(high, best)];
    const { offset_step: step } = data;
    const first = Math.ceil((good[0] - SAME) / step), last = Math.floor((good[1] + SAME) / step);
    let offset;
    if (first <= last) {
      const steps = [Math.floor(middle / step), Math.ceil(middle / step)].map((n) => Math.min(Math.max(n, first), last));
      offset = bestOf([...new Set(steps)].sort((a, b) => a - b).map((n) => n * step));
    } else {
      const [one, other] = [last * step, first * step];
      offset = ninth(cost(other)) < ninth(cost(one)) ? other : one;
    }
    const then = { ...set, offset: [offset] };
    return { equal, good, offset, gapNow: squareEnds(data, set).gap, gapThen: squareEnds(data, then).gap };
  };

  Object.assign(globalThis.passEnd, { rowsOf, answer });
})();
