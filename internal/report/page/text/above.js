// The place of the read-out, on the pictures from above; a click there leads to it. A
// picture says in its data-x0 to data-bottom which places its frame shows, and where.
const framesAbove = () => [...document.querySelectorAll(".above svg[data-x0]")].map((svg) => {
  const d = svg.dataset, n = (key) => +d[key];
  const x = (v) => n("left") + (v - n("x0")) / (n("x1") - n("x0")) * (n("right") - n("left"));
  const y = (v) => n("bottom") + (v - n("y0")) / (n("y1") - n("y0")) * (n("top") - n("bottom"));
  return {
    svg, x, y,
    place: (px, py) => [n("x0") + (px - n("left")) / (n("right") - n("left")) * (n("x1") - n("x0")), n("y0") + (py - n("bottom")) / (n("top") - n("bottom")) * (n("y1") - n("y0"))],
  };
});
const linkAbove = () => {
  const frames = framesAbove();
  const markers = frames.map((f) => {
    const size = f.svg.viewBox.baseVal.width / 60, g = make(f.svg, "g", { class: "place-marker" });
    for (const kind of ["marker back", "marker"]) {
      make(g, "path", { class: kind, "vector-effect": "non-scaling-stroke", d: `M${-size} 0H${size}M0 ${-size}V${size}` });
      make(g, "circle", { class: kind, "vector-effect": "non-scaling-stroke", r: size * 0.55 });
    }
    return g;
  });
  const mark = (k) => frames.forEach((f, i) => {
    const there = samples.x[k] !== null && samples.y[k] !== null;
    markers[i].style.display = there ? "" : "none";
    if (there) markers[i].setAttribute("transform", `translate(${f.x(samples.x[k]).toFixed(2)} ${f.y(samples.y[k]).toFixed(2)})`);
  });
  listeners.push(mark);
  for (const f of frames) {
    f.svg.classList.add("pointed");
    f.svg.addEventListener("click", (event) => {
      const to = f.svg.getScreenCTM();
      if (!to) return;
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(to.inverse()), [x, y] = f.place(at.x, at.y);
      let best = -1, least = Infinity;
      for (let k = 0; k < samples.stretch.length; k++) {
        if (samples.x[k] === null || !burns(samples.stretch[k])) continue;
        const way = (samples.x[k] - x) ** 2 + (samples.y[k] - y) ** 2;
        if (way < least) { least = way; best = k; }
      }
      if (best >= 0) go(best);
    });
  }
};
