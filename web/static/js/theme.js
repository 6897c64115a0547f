// Contract: a form[data-theme-form] whose buttons are named "theme" with values auto, light and dark. A press
// changes html[data-theme] at once and posts the same form in the background, so that the server sets the
// cookie; should that fail, the form is sent the ordinary way.
export function startTheme(root) {
  for (const form of root.querySelectorAll("form[data-theme-form]")) {
    form.addEventListener("submit", async (event) => {
      const pressed = event.submitter;
      if (!pressed) return;
      event.preventDefault();
      document.documentElement.dataset.theme = pressed.value;
      for (const button of form.querySelectorAll("button[name=theme]")) {
        button.setAttribute("aria-pressed", String(button === pressed));
      }
      const body = new URLSearchParams(new FormData(form));
      body.set("theme", pressed.value);
      const answer = await fetch(form.action, { method: "POST", body, redirect: "manual" }).catch(() => null);
      // A redirect is the expected answer; its status can't be seen, only its type.
      if (!answer || (answer.type !== "opaqueredirect" && !answer.ok)) {
        HTMLFormElement.prototype.submit.call(withTheme(form, pressed.value));
      }
    });
  }
}

// submit() sends no button, so the choice goes along as a hidden field.
function withTheme(form, value) {
  const field = document.createElement("input");
  field.type = "hidden";
  field.name = "theme";
  field.value = value;
  form.append(field);
  return form;
}
