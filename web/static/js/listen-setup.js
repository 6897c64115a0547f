// The set-up: kept in the browser once it was used, and folded from then on, with what matters of it in its line.
const key = "listening, set-up";
const kept = ["mode", "recorder", "settle", "least", "most", "voice"];

export class SetUp {
  constructor(fold, form) {
    this.fold = fold;
    this.form = form;
    const before = read();
    if (before) {
      this.put(before);
      fold.open = false;
    }
    form.addEventListener("change", () => this.say());
    this.say();
  }

  // put takes back what was used before, but for what the address asks for and what is no longer offered.
  put(before) {
    const asked = new URLSearchParams(location.search);
    for (const name of kept) {
      const field = this.form.elements.namedItem(name);
      const value = before[name];
      if (!field || value === undefined || asked.has(name)) continue;
      if (field.type === "checkbox") field.checked = value === true;
      else if (field instanceof HTMLSelectElement && ![...field.options].some((o) => o.value === value)) continue;
      else field.value = value;
    }
  }

  // store keeps what is used now, and folds it.
  store() {
    const now = {};
    for (const name of kept) {
      const field = this.form.elements.namedItem(name);
      if (field) now[name] = field.type === "checkbox" ? field.checked : field.value;
    }
    try {
      localStorage.setItem(key, JSON.stringify(now));
    } catch {
      // a browser that keeps nothing asks again
    }
    this.fold.open = false;
    this.say();
  }

  unfold() {
    this.fold.open = true;
  }

  say() {
    const field = (name) => this.form.elements.namedItem(name);
    const recorder = field("recorder").selectedOptions[0]?.textContent.trim() ?? "";
    const parts = [field("mode").value === "six" ? "all six positions" : "one position", (field("hours").value || "0") + " h after winding", recorder];
    this.fold.querySelector("[data-setup-said]").textContent = parts.filter(Boolean).join(", ");
  }
}

function read() {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}
