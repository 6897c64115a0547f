// Contract (web/view/outline.templ): [data-outline] holds a drawing [data-outline-drawing] whose zones carry
// data-part, one fieldset [data-outline-part] a part with rows [data-outline-row], and a template of a row.
// A tap on a zone writes its place, as fractions of the drawing, into an empty row of that part (adding one when
// there is none) and gives the row the keyboard. Rows post mark_part, mark_kind, mark_x, mark_y, mark_note;
// rows left blank are ignored by the server.
const svgNS = "http://www.w3.org/2000/svg";

export function startOutlines(root) {
  for (const outline of root.querySelectorAll("[data-outline]")) new Outline(outline).start();
}

class Outline {
  constructor(element) {
    this.element = element;
    this.drawing = element.querySelector("[data-outline-drawing]");
    this.pips = element.querySelector("[data-outline-marks]");
    this.status = element.querySelector("[data-outline-status]");
    this.template = element.querySelector("[data-outline-template]");
  }

  start() {
    this.element.classList.add("outline-live");
    this.element.querySelector("[data-outline-hint]").hidden = false;
    this.drawing.addEventListener("click", (event) => this.tap(event));
    this.element.addEventListener("click", (event) => {
      const button = event.target.closest("[data-outline-remove]");
      if (button) this.remove(button.closest("[data-outline-row]"));
    });
    this.element.addEventListener("input", () => this.renumber());
    this.renumber();
  }

  rows() {
    return [...this.element.querySelectorAll("[data-outline-part] [data-outline-row]")];
  }

  tap(event) {
    const zone = event.target.closest("[data-part]");
    if (!zone) return;
    const part = this.element.querySelector(`[data-outline-part="${zone.dataset.part}"]`);
    if (!part) return;
    const box = this.drawing.getBoundingClientRect();
    const row = this.blankRow(part) ?? this.addRow(part);
    field(row, "mark_x").value = ((event.clientX - box.left) / box.width).toFixed(3);
    field(row, "mark_y").value = ((event.clientY - box.top) / box.height).toFixed(3);
    const clear = part.querySelector("input[name=clear]");
    if (clear) clear.checked = false;
    this.renumber();
    row.dispatchEvent(new Event("input", { bubbles: true }));
    this.status.textContent = `${row.getAttribute("aria-label")} placed.`;
    field(row, "mark_kind").focus();
  }

  blankRow(part) {
    return [...part.querySelectorAll("[data-outline-row]")].find(isBlank);
  }

  addRow(part) {
    const row = this.template.content.firstElementChild.cloneNode(true);
    field(row, "mark_part").value = part.dataset.outlinePart;
    part.querySelector("[data-outline-rows]").append(row);
    return row;
  }

  remove(row) {
    const part = row.closest("[data-outline-part]");
    if (part.querySelectorAll("[data-outline-row]").length > 1) {
      row.remove();
    } else {
      for (const name of ["mark_x", "mark_y", "mark_kind", "mark_note"]) field(row, name).value = "";
    }
    this.renumber();
    this.status.textContent = "Mark removed.";
    part.dispatchEvent(new Event("input", { bubbles: true }));
    part.querySelector("select").focus();
  }

  // renumber counts the rows that say something, as the server will, and redraws the pips.
  renumber() {
    let n = 0;
    this.pips.replaceChildren();
    for (const row of this.rows()) {
      const blank = isBlank(row);
      if (!blank) n++;
      const part = row.closest("[data-outline-part]").querySelector("legend").textContent.trim().toLowerCase();
      row.querySelector("[data-outline-no]").textContent = blank ? "" : String(n);
      row.setAttribute("aria-label", blank ? `A mark on the ${part}` : `Mark ${n} on the ${part}`);
      row.querySelector("[data-outline-remove]").hidden = blank;
      row.classList.toggle("blank", blank);
      const x = field(row, "mark_x").value;
      if (!blank && x !== "") this.pips.append(pip(Number(x), Number(field(row, "mark_y").value), n, this.drawing));
    }
  }
}

const field = (row, name) => row.querySelector(`[name=${name}]`);

const isBlank = (row) => ["mark_x", "mark_kind", "mark_note"].every((name) => field(row, name).value.trim() === "");

function pip(x, y, n, drawing) {
  const { width, height } = drawing.viewBox.baseVal;
  const group = document.createElementNS(svgNS, "g");
  group.setAttribute("class", "pip");
  const circle = document.createElementNS(svgNS, "circle");
  circle.setAttribute("cx", x * width);
  circle.setAttribute("cy", y * height);
  circle.setAttribute("r", 15);
  const text = document.createElementNS(svgNS, "text");
  text.setAttribute("x", x * width);
  text.setAttribute("y", y * height);
  text.setAttribute("dy", 6);
  text.textContent = n;
  group.append(circle, text);
  return group;
}
