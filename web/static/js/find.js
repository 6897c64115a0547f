// Contract: input[data-find="/find/suggest"] in the find form, with [data-find-list] (ul role=listbox) and
// [data-find-status] (role=status) beside it, suggests while it is typed in: a combobox with a list after the ARIA Authoring
// Practices Guide. The list's options are the server's own, each with data-href. Enter without a chosen line sends the
// form, as without scripts. "/" brings the keyboard here where data-find-slash stands, unless it is typed into something.
const restMs = 180;

export function startFind(root) {
  const input = root.querySelector("input[data-find]");
  const list = root.querySelector("[data-find-list]");
  if (!input || !list) return;
  const box = new Suggestions(input, list, root.querySelector("[data-find-status]"));
  input.addEventListener("input", () => box.typed());
  input.addEventListener("keydown", (event) => box.key(event));
  input.addEventListener("blur", () => box.close());
  list.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the keyboard
  list.addEventListener("click", (event) => box.go(event.target.closest("[role=option]")));
  input.form.addEventListener("submit", () => box.close());
  if (input.dataset.findSlash === undefined) return;
  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.altKey || event.metaKey || event.isComposing || event.defaultPrevented || types(event.target)) return;
    event.preventDefault();
    setTimeout(() => { // after the key, so that it is not typed here
      input.focus();
      input.select();
    }, 0);
  });
}

const types = (element) => element.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(element.tagName);

class Suggestions {
  constructor(input, list, status) {
    Object.assign(this, { input, list, status, timer: 0, underway: null, at: -1 });
    input.setAttribute("role", "combobox");
    input.setAttribute("aria-autocomplete", "list");
    input.setAttribute("aria-controls", list.id);
    input.setAttribute("aria-expanded", "false");
  }

  options() {
    return [...this.list.children];
  }

  typed() {
    clearTimeout(this.timer);
    this.underway?.abort();
    this.choose(-1);
    if (this.input.value.trim().length < 2) return this.close();
    this.timer = setTimeout(() => this.ask(), restMs);
  }

  async ask() {
    this.underway = new AbortController();
    const url = new URL(this.input.dataset.find, location.href);
    url.searchParams.set("q", this.input.value.trim());
    try {
      const answer = await fetch(url, { signal: this.underway.signal, headers: { Accept: "text/html" } });
      if (!answer.ok || answer.redirected) return this.close();
      this.list.innerHTML = await answer.text(); // the server's own, escaped
    } catch (error) {
      if (error.name !== "AbortError") this.close();
      return;
    }
    this.at = -1;
    const count = this.options().length;
    if (count === 0 || document.activeElement !== this.input) return this.close(count === 0 ? "Nothing found yet." : "");
    this.open();
    this.status.textContent = `${count} found. Use the arrow keys.`;
  }

  open() {
    this.list.hidden = false;
    this.input.setAttribute("aria-expanded", "true");
  }

  close(said = "") {
    clearTimeout(this.timer);
    this.underway?.abort();
    this.choose(-1);
    this.list.hidden = true;
    this.input.setAttribute("aria-expanded", "false");
    if (this.status) this.status.textContent = said;
  }

  choose(at) {
    this.options()[this.at]?.setAttribute("aria-selected", "false");
    this.at = at;
    const option = this.options()[at];
    if (!option) return this.input.removeAttribute("aria-activedescendant");
    option.setAttribute("aria-selected", "true");
    option.scrollIntoView({ block: "nearest" });
    this.input.setAttribute("aria-activedescendant", option.id);
  }

  key(event) {
    const count = this.options().length;
    if (event.isComposing) return;
    if (event.key === "Escape" && !this.list.hidden) {
      event.preventDefault();
      this.close();
    } else if ((event.key === "ArrowDown" || event.key === "ArrowUp") && count > 0) {
      event.preventDefault();
      this.open();
      const step = event.key === "ArrowDown" ? 1 : -1;
      this.choose(this.at < 0 ? (step > 0 ? 0 : count - 1) : this.at + step < 0 || this.at + step >= count ? -1 : this.at + step);
    } else if (event.key === "Enter" && !this.list.hidden && this.at >= 0) {
      event.preventDefault();
      this.go(this.options()[this.at]);
    }
  }

  go(option) {
    if (option) location.assign(option.dataset.href);
  }
}
