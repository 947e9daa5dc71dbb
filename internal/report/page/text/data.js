// The path: stretches and the places on it that are read off, in columns.
const element = (id) => document.getElementById(id);
document.documentElement.classList.add("script");
const path = JSON.parse(element("path-data").textContent);
const stretches = path && path.stretches, samples = path && path.samples;

const BURNS = 1;
const burns = (s) => (stretches.kind[s] & BURNS) !== 0;
const ofProgram = (s) => path.programs[stretches.program[s]];
// askedOf is what burns of a stretch ask of the focus: by rules, where there are any.
const askedOf = (s) => stretches.near ? { near_mm: stretches.near[s], far_mm: stretches.far[s], defocus_mm: stretches.wanted[s] } : ofProgram(s);

// along gives for each way to lay the path out where each stretch begins and ends: by
// time in seconds, or by lines, one program's behind the other's.
const along = (() => {
  if (!path) return {};
  const n = stretches.line.length, before = [];
  let lines = 0;
  path.programs.forEach((p, k) => {
    before[k] = lines;
    let last = p.lines;
    for (let s = 0; s < n; s++) if (stretches.program[s] === k) last = Math.max(last, stretches.last[s]);
    lines += last;
  });
  const from = new Array(n), to = new Array(n);
  for (let s = 0; s < n;) {
    // Parts of one line share it, each by its time.
    let end = s + 1;
    while (end < n && stretches.program[end] === stretches.program[s] && stretches.line[end] === stretches.line[s] && stretches.last[end] === stretches.last[s]) end++;
    const first = before[stretches.program[s]] + stretches.line[s], width = stretches.last[s] - stretches.line[s] + 1;
    const begins = stretches.at[s], lasts = stretches.until[end - 1] - begins;
    for (let k = s; k < end; k++) {
      const part = (t, even) => first + width * (lasts > 0 ? (t - begins) / lasts : even / (end - s));
      from[k] = part(stretches.at[k], k - s);
      to[k] = part(stretches.until[k], k - s + 1);
    }
    s = end;
  }
  // What is joined may end within a line that goes on behind it.
  for (let k = 1; k < n; k++) {
    from[k] = Math.max(from[k], to[k - 1]);
    to[k] = Math.max(to[k], from[k]);
  }
  return {
    time: { from: stretches.at, to: stretches.until, first: 0, last: Math.max(path.seconds, stretches.until[n - 1]), before },
    line: { from, to, first: n ? from[0] : 0, last: n ? to[n - 1] : 1, before },
  };
})();

// alongAt is where a sample lies in a layout.
const alongAt = (layout, k) => {
  const s = samples.stretch[k];
  return layout.from[s] + samples.part[k] * (layout.to[s] - layout.from[s]);
};
const timeAt = (k) => alongAt(along.time, k);
const cAt = (k) => {
  const s = samples.stretch[k];
  return stretches.c_from[s] + samples.part[k] * (stretches.c_to[s] - stretches.c_from[s]);
};

// windowAt is the window of c at a sample, [least, greatest], of which the greatest is
// null on travels; null where there is no height. Where many places are one stretch, it is
// what the nearest of them leave of it.
const windowAt = (k) => {
  const s = samples.stretch[k], p = askedOf(s), near = p.near_mm - stretches.less[s], far = p.far_mm - stretches.less[s];
  if (burns(s) && !exact(s)) {
    if (stretches.d_lo[s] === null) return null;
    const c = cAt(k);
    return [c - (near + stretches.d_lo[s]), c + (far - stretches.d_hi[s])];
  }
  if (samples.h[k] === null) return null;
  const best = samples.h[k] + p.defocus_mm;
  return [best - near, burns(s) ? best + far : null];
};

// exact tells stretches that are read off in between: straight ones of one line.
const exact = (() => {
  if (!path) return () => false;
  const n = stretches.line.length, seen = new Array(n).fill(false), ends = new Array(n);
  samples.stretch.forEach((s, k) => {
    if (samples.part[k] > 0 && samples.part[k] < 1 && stretches.line[s] === stretches.last[s]) seen[s] = true;
    ends[s] = k;
  });
  return (s) => {
    if (seen[s]) return true;
    if (stretches.line[s] !== stretches.last[s] || !burns(s)) return stretches.line[s] === stretches.last[s];
    const k = ends[s];
    if (k === undefined || k === 0) return false;
    const way = Math.hypot(samples.x[k] - samples.x[k - 1], samples.y[k] - samples.y[k - 1]);
    return Math.abs(way - stretches.burn[s]) <= 0.002 + 0.001 * way;
  };
})();

// nearest is the sample nearest to a place of a layout; samples are in its order.
const nearest = (layout, v) => {
  let low = 0, high = samples.stretch.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (alongAt(layout, middle) < v) low = middle + 1; else high = middle;
  }
  return low > 0 && Math.abs(alongAt(layout, low - 1) - v) <= Math.abs(alongAt(layout, low) - v) ? low - 1 : low;
};
