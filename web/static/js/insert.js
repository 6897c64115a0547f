// Contract: button[data-insert], hidden in the page as served, puts its words where the cursor last stood in a field with
// data-insert-into; without scripts the words beside it, [data-insert-plain], are typed.
let field = document.querySelector("textarea[data-insert-into]");
for (const into of document.querySelectorAll("[data-insert-into]")) into.addEventListener("focus", () => { field = into; });
for (const button of document.querySelectorAll("button[data-insert]")) {
  button.hidden = false;
  const plain = button.parentElement.querySelector("[data-insert-plain]");
  if (plain) plain.hidden = true;
  button.addEventListener("click", () => {
    field.focus();
    field.setRangeText(button.dataset.insert, field.selectionStart, field.selectionEnd, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
