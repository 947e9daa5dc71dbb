// Ticks, scales and the spelling of figures.
const fixed = (v, decimals) => {
  const text = v.toFixed(decimals);
  return /^-0\.?0*$/.test(text) ? text.slice(1) : text;
};
const signed = (v, decimals) => (fixed(v, decimals).startsWith("-") ? "" : "+") + fixed(v, decimals);
// short has three digits, and no less than whole numbers.
const short = (v) => String(Math.abs(v) >= 1000 ? Math.round(v) : +v.toPrecision(3));
const clock = (s) => s < 60 ? fixed(s, 2) + " s" : s < 3600 ? `${Math.floor(s / 60)} min ${fixed(s % 60, 2).padStart(5, "0")} s`
  : `${Math.floor(s / 3600)} h ${String(Math.floor(s % 3600 / 60)).padStart(2, "0")} min ${fixed(s % 60, 1).padStart(4, "0")} s`;

// steps are those of ticks, for so many at most between two values.
const stepOf = (low, high, most, steps) => {
  const least = (high - low) / Math.max(1, most);
  if (steps) {
    const step = steps.find((s) => s >= least);
    if (step) return step;
  }
  const power = Math.pow(10, Math.floor(Math.log10(least)));
  return power * ([1, 2, 5, 10].find((m) => m * power >= least * 0.999999));
};
const ticks = (low, high, step) => {
  const list = [];
  for (let k = Math.ceil(low / step - 1e-6); k <= high / step + 1e-6; k++) list.push(k * step);
  return list;
};
const SECONDS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 18000, 36000];
const secondsText = (t, step) => {
  if (step < 60 && t < 60) return fixed(t, step < 0.1 ? 2 : step < 1 ? 1 : 0) + " s";
  const h = Math.floor(t / 3600 + 1e-9), m = Math.floor((t - 3600 * h) / 60 + 1e-9), s = t - 3600 * h - 60 * m;
  const text = [];
  if (h) text.push(h + " h");
  if (m || !h) text.push(m + " min");
  if (step < 60 && s > 1e-6) text.push(fixed(s, step < 0.1 ? 2 : step < 1 ? 1 : 0) + " s");
  return text.join(" ");
};
const decimalsOf = (step) => Math.max(0, Math.min(4, Math.ceil(-Math.log10(step) - 1e-9)));
