// Contract: form[data-scan-into="ticket"] on the page takes a scanned ticket, wherever the keyboard is, into the input of
// that name, and says so in [data-scan-said]. Enter at the end of a scan sends nothing. A form that was refused gives the
// keyboard to the first field that lacks something. The page works without: a scan then needs the field to be chosen.
import { Scanner } from "./positions-scan.js";

const form = document.querySelector("form[data-scan-into]");
if (form) {
  const ticket = form.elements.namedItem(form.dataset.scanInto);
  const said = form.querySelector("[data-scan-said]");
  const fields = () => [...document.querySelectorAll("input, textarea")];
  const scanner = new Scanner("\u0000", fields, {
    word: () => false,
    garbled() {},
    unended() {},
    begins() {},
    restored() {},
    foreign(text) {
      ticket.value = text;
      ticket.dispatchEvent(new Event("input", { bubbles: true }));
      ticket.focus();
      said.textContent = "Scanned.";
    },
  });
  addEventListener("keydown", (event) => scanner.key(event), true);
  const lacks = form.querySelector("[aria-invalid=true]:not([type=hidden]), .field.wrong input, .field.wrong select");
  if (lacks) lacks.focus();
}
