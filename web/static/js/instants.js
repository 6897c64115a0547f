// Contract: form[data-instants] with data-from-x, data-to-x, data-low-ms, data-high-ms and data-lanes ("top bottom top
// bottom"), the drawing of the averaged sounds in it, and number fields tick_unlocking, tick_drop, tock_unlocking and
// tock_drop. A mark is laid over the drawing for each field; dragging it, or the arrow keys on it (0.05 ms, with Shift
// 0.5 ms), changes the field, and typing in the field moves the mark. That of an empty field, of what was not found, waits
// at the left end. Without this script the fields alone do.
const svgNS = "http://www.w3.org/2000/svg";
const fine = 0.05;
const coarse = 0.5;

for (const form of document.querySelectorAll("form[data-instants]")) {
  const drawing = form.querySelector("svg.chart");
  if (drawing && form.dataset.lanes) lay(form, drawing);
}

function lay(form, drawing) {
  const number = (name) => Number(form.dataset[name]);
  const axis = { from: number("fromX"), to: number("toX"), low: number("lowMs"), high: number("highMs") };
  const lanes = form.dataset.lanes.split(" ").map(Number);
  const stage = document.createElement("div");
  stage.className = "instants-stage";
  drawing.replaceWith(stage);
  const over = document.createElementNS(svgNS, "svg");
  over.setAttribute("viewBox", drawing.getAttribute("viewBox"));
  over.setAttribute("class", "chart instants-over");
  stage.append(drawing, over);
  [["tick_unlocking", "Tick, unlocking", 0], ["tick_drop", "Tick, drop", 0],
    ["tock_unlocking", "Tock, unlocking", 1], ["tock_drop", "Tock, drop", 1]]
    .forEach(([name, label, swing]) => mark(over, form.elements[name], label, axis, lanes[2 * swing], lanes[2 * swing + 1]));
  const hint = form.querySelector("[data-instants-hint]");
  if (hint) hint.append(" Or move the marks over the sounds: with the pointer, or with the arrow keys.");
}

function mark(over, field, label, axis, top, bottom) {
  const g = document.createElementNS(svgNS, "g");
  g.setAttribute("class", "instant-mark");
  g.setAttribute("role", "slider");
  g.setAttribute("tabindex", "0");
  g.setAttribute("aria-label", `${label}, ms from the drop as found`);
  g.setAttribute("aria-valuemin", axis.low.toFixed(2));
  g.setAttribute("aria-valuemax", axis.high.toFixed(2));
  g.append(shape("rect", { x: -9, y: top, width: 18, height: bottom - top }), shape("path", { d: `M0 ${top}V${bottom}` }),
    shape("circle", { cx: 0, cy: bottom - 10, r: 6 }));
  over.append(g);

  const value = () => {
    const text = field.value.trim().replace(/[\u2212\u2013]/g, "-").replace(",", ".");
    return text === "" ? NaN : Number(text);
  };
  const show = () => {
    const typed = value();
    const unset = Number.isNaN(typed);
    g.classList.toggle("absent", !unset && !(typed >= axis.low && typed <= axis.high));
    g.classList.toggle("unset", unset);
    const ms = unset ? axis.low : typed;
    if (!Number.isFinite(ms)) return;
    const x = axis.from + (ms - axis.low) / (axis.high - axis.low) * (axis.to - axis.from);
    g.setAttribute("transform", `translate(${x.toFixed(2)} 0)`);
    g.setAttribute("aria-valuenow", ms.toFixed(2));
    g.setAttribute("aria-valuetext", unset ? "not set" : `${ms.toFixed(2)} milliseconds`);
  };
  const set = (ms) => {
    field.value = Math.max(axis.low, Math.min(axis.high, ms)).toFixed(2);
    show();
  };
  field.addEventListener("input", show);
  g.addEventListener("keydown", (event) => {
    const step = event.shiftKey ? coarse : fine;
    const by = { ArrowLeft: -step, ArrowDown: -step, ArrowRight: step, ArrowUp: step }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    const from = value();
    set((Number.isNaN(from) ? axis.low : from) + by);
  });
  g.addEventListener("pointerdown", (event) => {
    g.setPointerCapture(event.pointerId);
    event.preventDefault();
    g.focus();
  });
  g.addEventListener("pointermove", (event) => {
    if (!g.hasPointerCapture(event.pointerId)) return;
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(over.getScreenCTM().inverse());
    set(axis.low + (point.x - axis.from) / (axis.to - axis.from) * (axis.high - axis.low));
  });
  show();
}

function shape(kind, attributes) {
  const e = document.createElementNS(svgNS, kind);
  for (const [name, value] of Object.entries(attributes)) e.setAttribute(name, value);
  return e;
}
