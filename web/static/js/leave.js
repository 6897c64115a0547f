// Contract: form[data-leave] asks before its page is left with typing unsent. A form sent is no longer unsent;
// a form drawn again after a refused save carries data-leave="unsaved" and asks at once.
export function startLeave(root) {
  const forms = [...root.querySelectorAll("form[data-leave]")];
  if (forms.length === 0) return;
  const unsent = new Set(forms.filter((form) => form.dataset.leave === "unsaved"));
  let leaving = false;
  for (const form of forms) {
    form.addEventListener("input", () => { if (form.dataset.restoring === undefined) unsent.add(form); }); // see keep.js
  }
  root.addEventListener("submit", (event) => {
    if (!event.defaultPrevented && forms.includes(event.target)) leaving = true;
  });
  window.addEventListener("pageshow", () => { leaving = false; });
  window.addEventListener("beforeunload", (event) => {
    // A browser asks nobody who has not touched the page, and complains to its console of one that wants it to.
    if (!leaving && unsent.size > 0 && navigator.userActivation?.hasBeenActive !== false) event.preventDefault();
  });
}
