// The picture of the path: above what c may be and is, below how fast Z goes.
const SVG = "http://www.w3.org/2000/svg";
const make = (parent, name, attributes, text) => {
  const e = document.createElementNS(SVG, name);
  for (const key in attributes) e.setAttribute(key, attributes[key]);
  if (text !== undefined) e.textContent = text;
  parent.appendChild(e);
  return e;
};

// view is what is shown of the path, and where the read-out is.
const view = { by: "time", from: 0, to: 1, at: 0 };
const layout = () => along[view.by];
// plot is where things stand on the screen, in pixels.
const plot = { left: 50, right: 14, top: 20, between: 34, bottom: 42, width: 0, height: 0, split: 0 };
const across = (v) => plot.left + (v - view.from) / (view.to - view.from) * (plot.width - plot.left - plot.right);
const back = (x) => view.from + (x - plot.left) / (plot.width - plot.left - plot.right) * (view.to - view.from);

// shown are the samples in view and one beyond either end.
const shown = () => {
  const last = samples.stretch.length - 1;
  return [Math.max(0, nearest(layout(), view.from) - 1), Math.min(last, nearest(layout(), view.to) + 1)];
};

// extent is that of what is shown, upwards.
const extent = (first, last) => {
  let low = 0, high = 0, any = false;
  const take = (v) => {
    if (v === null || v === undefined) return;
    if (!any) { low = high = v; any = true; }
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (let k = first; k <= last; k++) {
    const s = samples.stretch[k], w = windowAt(k);
    if (burns(s)) {
      if (w) { take(w[0]); take(w[1]); }
      take(samples.h[k]);
      take(stretches.c_lo[s]);
      take(stretches.c_hi[s]);
    } else take(cAt(k));
  }
  const pad = Math.max(0.05 * (high - low), 0.02);
  return [low - pad, high + pad];
};

const drawAxes = (svg, low, high, top, rate) => {
  const narrow = plot.width < 560;
  const right = plot.width - plot.right, up = (v) => plot.split - (v - low) / (high - low) * (plot.split - plot.top);
  const step = stepOf(low, high, 6);
  for (const v of ticks(low, high, step)) {
    make(svg, "path", { class: "grid", d: `M${plot.left} ${up(v)}H${right}` });
    make(svg, "text", { x: plot.left - 6, y: up(v) + 4, "text-anchor": "end" }, fixed(v, decimalsOf(step)));
  }
  make(svg, "text", { x: 2, y: 12 }, "c, mm");
  const floor = plot.height - plot.bottom, ceiling = plot.split + plot.between;
  const fast = (v) => floor - v / top * (floor - ceiling);
  const stepZ = stepOf(0, top, 2);
  for (const v of ticks(0, top, stepZ)) {
    make(svg, "path", { class: "grid", d: `M${plot.left} ${fast(v)}H${right}` });
    make(svg, "text", { x: plot.left - 6, y: fast(v) + 4, "text-anchor": "end" }, fixed(v, decimalsOf(stepZ)));
  }
  make(svg, "text", { x: 2, y: plot.split + 22 }, "rate of Z, mm/min" + (rate > 0 ? ` (the machine has ${fixed(rate, 0)})` : ""));
  const most = Math.max(2, Math.floor((plot.width - plot.left) / (narrow ? 80 : 100)));
  const time = view.by === "time", stepX = stepOf(view.from, view.to, most, time ? SECONDS : [1, 2, 5, 10]);
  for (const v of ticks(view.from, view.to, stepX)) {
    const x = across(v), anchor = x > right - 24 ? "end" : "middle";
    make(svg, "path", { class: "grid", d: `M${x} ${plot.top}V${plot.split}M${x} ${ceiling}V${floor}` });
    make(svg, "text", { x: anchor === "end" ? right : x, y: floor + 16, "text-anchor": anchor }, time ? secondsText(v, stepX) : fixed(v, 0));
  }
  make(svg, "text", { x: right, y: floor + 34, "text-anchor": "end" }, time ? "time from the beginning" : path.programs.length > 1 ? "lines, one program behind the other" : "line of the program");
  return { up, fast, floor, ceiling, right };
};

const drawPath = () => {
  const box = element("chart"), svg = document.createElementNS(SVG, "svg");
  plot.width = Math.max(240, box.clientWidth);
  plot.height = Math.max(240, box.clientHeight);
  plot.split = plot.top + (plot.height - plot.top - plot.between - plot.bottom) * 0.74;
  for (const key of ["width", "height"]) svg.setAttribute(key, plot[key]);
  svg.setAttribute("aria-hidden", "true");
  const [first, last] = shown(), [low, high] = extent(first, last);
  // Of travels, which may go as fast as Z does, no more is shown than of burns.
  let top = 0;
  stretches.rate.forEach((r, s) => { if (stretches.kind[s] === BURNS) top = Math.max(top, r); });
  if (top === 0) for (const r of stretches.rate) top = Math.max(top, r);
  if (path.z_rate_mm_min < 3 * top) top = Math.max(top, path.z_rate_mm_min);
  const axes = drawAxes(svg, low, high, top > 0 ? top * 1.08 : 1, path.z_rate_mm_min);
  const defs = make(svg, "defs", {}), clip = make(defs, "clipPath", { id: "inside" });
  make(clip, "rect", { x: plot.left, y: plot.top, width: axes.right - plot.left, height: axes.floor - plot.top });
  const inside = make(svg, "g", { "clip-path": "url(#inside)" });
  const f = (v) => v.toFixed(1);

  // Windows of burns, as long as they go on; the height of the stock; c.
  let bands = "", stock = "", c = "", idle = "", spread = "", run = [];
  const close = () => {
    if (run.length > 1) bands += "M" + run.map((r) => f(r[0]) + " " + f(r[2])).join("L") + "L" + run.reverse().map((r) => f(r[0]) + " " + f(r[1])).join("L") + "Z";
    run = [];
  };
  let pen = false, drawn = -2, was = -1;
  for (let k = first; k <= last; k++) {
    const s = samples.stretch[k], x = across(alongAt(layout(), k)), w = windowAt(k);
    if (burns(s) && w) {
      // It goes on from the end of the stretch before.
      if (s !== was && samples.part[k] > 0 && k > 0) {
        const from = across(layout().from[s]), h = samples.h[k - 1], p = askedOf(s);
        const edge = exact(s) && h !== null ? [h + p.defocus_mm - p.near_mm + stretches.less[s], h + p.defocus_mm + p.far_mm - stretches.less[s]]
          : [w[0] - (stretches.c_to[s] - stretches.c_from[s]) * samples.part[k], w[1] - (stretches.c_to[s] - stretches.c_from[s]) * samples.part[k]];
        run.push([from, axes.up(edge[0]), axes.up(edge[1])]);
      }
      run.push([x, axes.up(w[0]), axes.up(w[1])]);
    } else close();
    was = s;
    if (samples.h[k] !== null) {
      stock += (pen ? "L" : "M") + f(x) + " " + f(axes.up(samples.h[k]));
      pen = true;
    } else pen = false;
  }
  close();
  let rate = "";
  const s0 = samples.stretch[first], s1 = samples.stretch[last];
  for (let s = s0; s <= s1; s++) {
    const x0 = across(layout().from[s]), x1 = across(layout().to[s]);
    const part = `${drawn === s - 1 ? "L" : "M"}${f(x0)} ${f(axes.up(stretches.c_from[s]))}L${f(x1)} ${f(axes.up(stretches.c_to[s]))}`;
    if (burns(s)) { c += part; drawn = s; } else idle += part.replace(/^L/, "M");
    if (stretches.last[s] > stretches.line[s] && stretches.c_hi[s] > stretches.c_lo[s]) spread += `M${f(x0)} ${f(axes.up(stretches.c_lo[s]))}H${f(x1)}V${f(axes.up(stretches.c_hi[s]))}H${f(x0)}Z`;
    if (stretches.rate[s] > 0) rate += `M${f(x0)} ${f(axes.floor)}V${f(Math.max(axes.ceiling, axes.fast(stretches.rate[s])))}H${f(Math.max(x1, x0 + 0.6))}V${f(axes.floor)}Z`;
  }
  make(inside, "path", { class: "window", d: bands });
  make(inside, "path", { class: "stock", d: stock });
  make(inside, "path", { class: "spread", d: spread });
  make(inside, "path", { class: "c travel", d: idle });
  make(inside, "path", { class: "c", d: c });
  make(inside, "path", { class: "rate", d: rate });
  if (path.z_rate_mm_min > 0 && axes.fast(path.z_rate_mm_min) >= axes.ceiling) make(inside, "path", { class: "limit", d: `M${plot.left} ${axes.fast(path.z_rate_mm_min)}H${axes.right}` });
  path.programs.forEach((p, k) => {
    const s = stretches.program.indexOf(k);
    if (k > 0 && s > 0) make(inside, "path", { class: "zone", d: `M${f(across(layout().from[s]))} ${plot.top}V${axes.floor}` });
  });
  for (const button of document.querySelectorAll("button[data-at]")) {
    const x = across(alongAt(layout(), nearest(along.time, +button.dataset.at)));
    if (x >= plot.left && x <= axes.right) make(svg, "path", { class: button.closest("tr.out") ? "worst out" : "worst", d: `M${f(x - 5)} ${plot.top - 9}H${f(x + 5)}L${f(x)} ${plot.top - 1}Z` });
  }
  for (const [y0, y1] of [[plot.top, plot.split], [axes.ceiling, axes.floor]]) make(svg, "rect", { class: "frame", x: plot.left, y: y0, width: axes.right - plot.left, height: y1 - y0 });
  const cursor = make(inside, "g", { id: "cursor" });
  make(cursor, "path", { class: "cursor", d: `M0 ${plot.top}V${plot.split}M0 ${axes.ceiling}V${axes.floor}` });
  make(cursor, "circle", { class: "at", r: 5 });
  box.replaceChildren(svg);
  plot.up = axes.up;
  placeCursor();
};
const placeCursor = () => {
  const cursor = element("cursor");
  cursor.setAttribute("transform", `translate(${across(alongAt(layout(), view.at)).toFixed(2)} 0)`);
  cursor.querySelector("circle").setAttribute("cy", plot.up(cAt(view.at)).toFixed(2));
};
