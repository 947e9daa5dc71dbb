// The drawing of the stock, and the cross of the datum on it.
const svgNS = "http://www.w3.org/2000/svg";

function showStock(a) {
  const box = $("stock");
  $("said-program").textContent = a.program || "";
  for (const field of ["program", "option-datum", "keep-out"]) {
    const w = (a.wrong || []).find((w) => w.field === field);
    if (w) faultOf("stock", field, w.text);
    else if ($("fault-" + field).dataset.faultOf === "stock") fault(field, "");
  }
  if (!a.picture) {
    box.textContent = "";
    box.append(make("p", "With a program or heights, the stock is drawn here.", { class: "aside" }));
    return;
  }
  box.innerHTML = a.picture; // drawn by the desk, of numbers alone
  if (a.stock) box.append(make("p", a.stock + ".", { class: "aside" }));
  cross();
  sizeFigures();
}

// sizeFigures keeps letters of a drawing as large as those beside it.
function sizeFigures() {
  const svg = $("stock").querySelector("svg");
  if (!svg) return;
  const box = svg.viewBox.baseVal, shown = svg.getBoundingClientRect();
  const scale = Math.min(shown.width / box.width, shown.height / box.height) || 1;
  for (const t of svg.querySelectorAll("text")) t.setAttribute("font-size", 12 / scale);
  const mark = svg.querySelector(".datum");
  if (mark) mark.setAttribute("transform", mark.dataset.at + " scale(" + 1 / scale + ")");
}
addEventListener("resize", sizeFigures);

function datumAt() {
  const parts = (c.options.datum || "").split(/[;\s]+|,(?=.*)/).filter((p) => p !== "").map((p) => Number(p.replace(",", ".")));
  return parts.length === 2 && parts.every(isFinite) ? parts : null;
}

// cross draws the datum's mark; where none is typed it stands in the corner, to be taken.
function cross() {
  const svg = $("stock").querySelector("svg"), box = svg.viewBox.baseVal;
  const at = datumAt(), [x, y] = at || [box.x + box.width * 0.03, -(box.y + box.height * 0.97)];
  const g = document.createElementNS(svgNS, "g"), put = (x, y) => { g.dataset.at = "translate(" + x + " " + -y + ")"; sizeFigures(); };
  g.setAttribute("class", "datum");
  const line = document.createElementNS(svgNS, "path"), ring = document.createElementNS(svgNS, "circle"), title = document.createElementNS(svgNS, "title");
  line.setAttribute("d", "M-14 0H14M0 -14V14");
  ring.setAttribute("r", 9);
  title.textContent = at ? "the datum, at X" + x + " Y" + y : "drag this to where heights are to count from";
  g.append(title, ring, line);
  svg.append(g);
  put(x, y);
  const place = (e) => {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [Math.round(p.x * 10) / 10, Math.round(-p.y * 10) / 10];
  };
  g.addEventListener("pointerdown", (down) => {
    down.preventDefault();
    g.setPointerCapture(down.pointerId);
    const move = (e) => { const [mx, my] = place(e); put(mx, my); $("option-datum").value = mx + "," + my; };
    const drop = (e) => {
      g.removeEventListener("pointermove", move);
      g.removeEventListener("pointerup", drop);
      c.options.datum = place(e).join(",");
      fill();
      changed();
    };
    g.addEventListener("pointermove", move);
    g.addEventListener("pointerup", drop);
  });
}
$("no-datum").addEventListener("click", () => { c.options.datum = ""; fill(); changed(); });
