// Contract: form[data-passkey-use] and form[data-passkey-make] hold the program's options (WebAuthn, as JSON) for using or
// making a passkey. Their button[data-passkey] is hidden in the page as served and shows where the browser can do it; it puts
// the answer into [data-passkey-answer] and sends the form. What went wrong is said in [data-passkey-problem].
const can = window.PublicKeyCredential?.parseRequestOptionsFromJSON && PublicKeyCredential.prototype.toJSON;

for (const form of document.querySelectorAll("form[data-passkey-use], form[data-passkey-make]")) {
  const button = form.querySelector("button[data-passkey]");
  if (!button || !can) continue;
  button.hidden = false;
  form.querySelector("[data-passkey-lacking]")?.remove();
  button.addEventListener("click", () => answer(form, button));
}

async function answer(form, button) {
  const problem = form.querySelector("[data-passkey-problem]");
  problem.hidden = true;
  button.disabled = true;
  try {
    const made = form.dataset.passkeyMake
      ? await navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(JSON.parse(form.dataset.passkeyMake).publicKey) })
      : await navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(JSON.parse(form.dataset.passkeyUse).publicKey) });
    form.querySelector("[data-passkey-answer]").value = JSON.stringify(made.toJSON());
    form.requestSubmit();
  } catch (error) {
    problem.textContent = words[error.name] ?? "The browser could not use a passkey here.";
    problem.hidden = false;
  } finally {
    button.disabled = false;
  }
}

const words = {
  NotAllowedError: "No passkey was chosen, or it took too long. Try again.",
  InvalidStateError: "There is a passkey of yours on this device already.",
  SecurityError: "Passkeys don't work at the address at which this page is open.",
};
