// The read-out of one place, and how one gets to it.
const listeners = [];
const field = (list, name, key, text, code) => {
  const row = document.createElement("div"), dt = document.createElement("dt"), dd = document.createElement("dd");
  dt.textContent = name;
  dd.dataset.field = key;
  if (key === "line") row.className = "text";
  dd.textContent = text;
  if (code) {
    const c = document.createElement("code");
    c.textContent = code;
    dd.append(" ", c);
  }
  row.append(dt, dd);
  list.append(row);
};
const nameOf = (s) => {
  const first = stretches.line[s], last = stretches.last[s], p = ofProgram(s);
  let text = last > first ? `lines ${first} to ${last}` : `line ${first}`;
  if (stretches.original[s] > 0 && stretches.original[s] !== first) text += ` (original ${stretches.original[s]})`;
  if (last > first && stretches.worst[s] > 0) text += `, most of the depth spent on line ${stretches.worst[s]}`;
  return path.programs.length > 1 ? `${p.name}, ${text}` : text;
};
const range = (low, high, spell) => low === null || low === undefined ? "not known" : spell(low) === spell(high) ? spell(low) : `${spell(low)} to ${spell(high)}`;

// spent is how much of the depth a stretch uses at most, as a part.
const spent = (s) => {
  const p = askedOf(s), less = stretches.less[s];
  return Math.max(-stretches.d_lo[s] / (p.near_mm - less), stretches.d_hi[s] / (p.far_mm - less));
};

const tell = () => {
  const k = view.at, s = samples.stretch[k], p = askedOf(s), list = document.createElement("dl"), w = windowAt(k);
  const mm = (v) => fixed(v, 3), text = path.texts[s];
  field(list, "Time", "time", clock(timeAt(k)));
  field(list, "Place", "place", samples.x[k] === null ? "not known" : `X${mm(samples.x[k])} Y${mm(samples.y[k])}`);
  field(list, "Height of the surface", "height", samples.h[k] === null ? "none here" : mm(samples.h[k]) + " mm");
  field(list, "Correction c", "c", (exact(s) ? mm(cAt(k)) : range(stretches.c_lo[s], stretches.c_hi[s], mm)) + " mm");
  field(list, "Window of c", "window", w === null ? "none here" : w[1] === null ? `${mm(w[0])} mm or more` : `${mm(w[0])} to ${mm(w[1])} mm`);
  if (burns(s)) {
    const part = Math.round(100 * spent(s)), wide = exact(s) && samples.h[k] !== null;
    const here = wide ? signed(cAt(k) - samples.h[k] - p.defocus_mm, 3) : range(stretches.d_lo[s], stretches.d_hi[s], (v) => signed(v, 3));
    const most = wide ? Math.round(100 * Math.max((samples.h[k] + p.defocus_mm - cAt(k)) / (p.near_mm - stretches.less[s]), (cAt(k) - samples.h[k] - p.defocus_mm) / (p.far_mm - stretches.less[s]))) : part;
    field(list, "Defocus", "defocus", stretches.d_lo[s] === null ? "not known" : `${here} mm, ${most} % of the depth${most > 100 ? ": out of focus" : ""}`);
  } else field(list, "Defocus", "defocus", "beam off");
  const seconds = stretches.until[s] - stretches.at[s], feed = stretches.kind[s] === BURNS && seconds > 0 && stretches.burn[s] > 0 ? stretches.burn[s] / seconds * 60 : 0;
  field(list, "Speed", "feed", (feed > 0 ? fixed(feed, 0) + " mm/min" : burns(s) ? "burns and travels" : "travel") + (stretches.slowed[s] > 0 && stretches.slowed[s] < 0.995 ? `, down to ${Math.round(100 * stretches.slowed[s])} % of the original's feed` : ""));
  field(list, "Z speed", "z-speed", short(stretches.z_speed[s]) + " mm/s");
  // Where one stretch goes over into the next, the step is the next one's.
  const steps = samples.part[k] === 1 && stretches.z_step[s + 1] > 0 && stretches.z_step_at[s + 1] <= stretches.until[s] ? s + 1 : s;
  if (path.inertia) field(list, "Z speed step", "z-step", stretches.z_step[steps] > 0 ? short(stretches.z_step[steps]) + " mm/s" : "none");
  field(list, "Program", "line", nameOf(s), text);
  element("read").replaceChildren(list);
  const chart = element("chart");
  chart.setAttribute("aria-valuenow", k);
  chart.setAttribute("aria-valuetext", `${clock(timeAt(k))}, ${nameOf(s)}`);
  if (document.activeElement !== element("to-line")) element("to-line").value = stretches.line[s];
};

// settle keeps the view within the path; it has some width, however close one comes.
const settle = (from, to) => {
  const l = layout(), whole = l.last - l.first || 1, least = Math.min(whole, view.by === "time" ? Math.max(whole / 5e4, 0.02) : 2);
  const width = Math.min(Math.max(to - from, least), whole), middle = (from + to) / 2;
  view.from = Math.min(Math.max(middle - width / 2, l.first), l.last - width);
  view.to = view.from + width;
};
let waiting = false;
const redraw = () => {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => { waiting = false; drawPath(); });
};
// go leads the read-out to a sample, and the view with it where it is out of sight.
const go = (k) => {
  view.at = Math.min(Math.max(k, 0), samples.stretch.length - 1);
  const v = alongAt(layout(), view.at), width = view.to - view.from;
  if (v < view.from || v > view.to) {
    settle(v - width / 2, v + width / 2);
    redraw();
  } else placeCursor();
  tell();
  for (const f of listeners) f(view.at);
};
// zoom shows a part of what is shown, v staying where it is.
const zoom = (by, v) => {
  const from = v - (v - view.from) * by, to = v + (view.to - v) * by;
  const before = [view.from, view.to];
  settle(from, to);
  redraw();
  return before[0] !== view.from || before[1] !== view.to;
};
const whole = () => { settle(layout().first, layout().last); redraw(); };
const sampleOf = (x) => nearest(layout(), back(x));

const keys = (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const step = event.shiftKey ? 20 : 1, middle = alongAt(layout(), view.at), page = (view.to - view.from) * 0.8;
  const does = {
    ArrowRight: () => go(view.at + step), ArrowUp: () => go(view.at + step), ArrowLeft: () => go(view.at - step), ArrowDown: () => go(view.at - step),
    Home: () => go(0), End: () => go(samples.stretch.length - 1),
    PageDown: () => go(nearest(layout(), middle + page)), PageUp: () => go(nearest(layout(), middle - page)),
    "+": () => zoom(0.5, middle), "=": () => zoom(0.5, middle), "-": () => zoom(2, middle), "_": () => zoom(2, middle), 0: whole,
  }[event.key];
  if (!does) return;
  event.preventDefault();
  does();
};

// Fingers and mouse: pointing reads off, dragging moves along what is shown close, two
// fingers come closer.
const pointing = (chart) => {
  const down = new Map();
  let spread = 0;
  const at = (event) => event.clientX - chart.getBoundingClientRect().left;
  chart.addEventListener("pointerdown", (event) => {
    down.set(event.pointerId, at(event));
    chart.setPointerCapture(event.pointerId);
    if (down.size === 1) go(sampleOf(at(event)));
    spread = 0;
  });
  chart.addEventListener("pointermove", (event) => {
    const x = at(event);
    if (!down.has(event.pointerId)) {
      go(sampleOf(x));
      return;
    }
    const before = down.get(event.pointerId);
    down.set(event.pointerId, x);
    if (down.size === 2) {
      const [a, b] = [...down.values()], now = Math.abs(a - b);
      if (spread > 0 && now > 0) zoom(spread / now, back((a + b) / 2));
      spread = now;
      return;
    }
    const l = layout();
    if (view.to - view.from < 0.999 * (l.last - l.first)) {
      const by = back(before) - back(x);
      settle(view.from + by, view.to + by);
      redraw();
    }
    go(sampleOf(Math.min(Math.max(x, plot.left), plot.width - plot.right)));
  });
  for (const end of ["pointerup", "pointercancel"]) chart.addEventListener(end, (event) => { down.delete(event.pointerId); spread = 0; });
  chart.addEventListener("wheel", (event) => {
    const by = Math.exp(Math.max(-1, Math.min(1, event.deltaY / 400)));
    if (zoom(by, back(at(event)))) event.preventDefault(); // else the page scrolls
  }, { passive: false });
};
