if (path) {
  const chart = element("chart");
  whole();
  chart.setAttribute("aria-valuemax", samples.stretch.length - 1);
  drawPath();
  pointing(chart);
  chart.addEventListener("keydown", keys);
  element("closer").addEventListener("click", () => zoom(0.5, alongAt(layout(), view.at)));
  element("further").addEventListener("click", () => zoom(2, alongAt(layout(), view.at)));
  element("whole").addEventListener("click", whole);
  for (const radio of document.querySelectorAll("input[name=along]")) radio.addEventListener("change", () => {
    view.by = radio.value;
    whole();
  });
  const toLine = element("to-line");
  toLine.addEventListener("change", () => {
    const wanted = +toLine.value, here = stretches.program[samples.stretch[view.at]], s = stretches.line.findIndex((line, k) => stretches.program[k] === here && stretches.last[k] >= wanted);
    if (wanted > 0 && s >= 0) go(Math.max(0, samples.stretch.indexOf(s)));
  });
  for (const button of document.querySelectorAll("button[data-at]")) button.addEventListener("click", () => {
    const k = nearest(along.time, +button.dataset.at), v = alongAt(layout(), k), width = Math.min(view.to - view.from, (layout().last - layout().first) / 8);
    settle(v - width / 2, v + width / 2);
    redraw();
    go(k);
    chart.focus({ preventScroll: true });
    chart.scrollIntoView({ block: "center" });
  });
  linkAbove();
  new ResizeObserver(redraw).observe(chart);
  const worst = document.querySelector("button[data-at]");
  go(worst ? nearest(along.time, +worst.dataset.at) : 0);
}
