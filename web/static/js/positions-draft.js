// What is typed in the bench view is kept in the browser until the run is kept: a reload, a broken line or a session that
// ends loses nothing. Where the browser keeps nothing, the view works all the same.
const prefix = "bench view, ";

export class Draft {
  constructor(key) {
    this.key = prefix + key;
  }

  read() {
    try {
      return JSON.parse(localStorage.getItem(this.key));
    } catch {
      return null;
    }
  }

  write(state) {
    try {
      localStorage.setItem(this.key, JSON.stringify({ ...state, saved: Date.now() }));
    } catch {
      // full, or forbidden
    }
  }

  clear() {
    try {
      localStorage.removeItem(this.key);
    } catch {
      // as above
    }
  }
}

// liking remembers how somebody likes the view, such as the size of its type.
export function liking(name, value) {
  const key = prefix + name;
  try {
    if (value === undefined) return localStorage.getItem(key) ?? "";
    localStorage.setItem(key, value);
  } catch {
    // as above
  }
  return value ?? "";
}
