// Contract: button[data-print], hidden in the page as served, prints the page; it shows only where it can work.
// data-print="name" prints of several papers the [data-print-part] of that name alone. The box in [data-print-apart]
// has the first button print them one after the other, each in a print dialogue of its own, as two printers need; it
// is remembered on this machine. An address with ?print=now prints as soon as the page is drawn, and only once.
const apartKey = "print-apart";

export function startPrint(root) {
  const parts = [...root.querySelectorAll("[data-print-part]")];
  const box = startApart(root);
  const names = (name) => (name ? [name] : box?.checked ? parts.map((part) => part.dataset.printPart) : [""]);
  const print = async (name) => {
    for (const only of names(name)) await printOnly(parts, only);
  };
  for (const button of root.querySelectorAll("button[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => print(button.dataset.print));
  }
  const here = new URL(location.href);
  if (here.searchParams.get("print") !== "now") return;
  here.searchParams.delete("print");
  history.replaceState(history.state, "", here);
  document.fonts.ready.then(() => print(""));
}

// printOnly prints the part of that name, or all, and is done when the print dialogue has closed.
async function printOnly(parts, name) {
  const others = parts.filter((part) => name && part.dataset.printPart !== name);
  for (const part of others) part.classList.add("unprinted");
  const closed = new Promise((done) => window.addEventListener("afterprint", done, { once: true }));
  window.print();
  await closed;
  for (const part of others) part.classList.remove("unprinted");
}

function startApart(root) {
  const line = root.querySelector("[data-print-apart]");
  if (!line) return null;
  line.hidden = false;
  const box = line.querySelector("input");
  try {
    box.checked = localStorage.getItem(apartKey) === "yes";
    box.addEventListener("change", () => localStorage.setItem(apartKey, box.checked ? "yes" : "no"));
  } catch {
    // Storage is closed to us: the box holds for this page.
  }
  return box;
}
