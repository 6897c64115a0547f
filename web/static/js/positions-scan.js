// A hand-held scanner types like a keyboard, only faster: a prefix, a word and Enter. Scanner watches all keys of a page,
// takes such a burst out of whatever field it fell into, and says which word it was. What people type, whose keys lie
// farther apart, is left alone.
const gapMs = 60; // the longest between two keys of a scan
const againMs = 2000; // the same code within this is the same scan, read twice
const tornMs = 2000; // how long after its start a script may meet the rest of a scan
const leastOther = 8; // letters of a burst that is no code of ours, such as a docket's number

export class Scanner {
  // on: word(text), foreign(text), garbled(text), unended(), begins(), restored(); fields() lists the inputs that a scan
  // may have fallen into.
  constructor(prefix, fields, on) {
    this.prefix = prefix.toUpperCase();
    this.fields = fields;
    this.on = on;
    this.text = "";
    this.last = { word: "", at: -againMs };
    this.since = performance.now();
  }

  // key looks at a keydown and reports whether the scanner has it: nobody else should act on it then.
  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return false;
    const fast = event.timeStamp - this.at < gapMs;
    if (event.key === "Enter") {
      const text = this.text;
      this.text = "";
      clearTimeout(this.timer);
      if (!fast || !this.scanned(text)) return false;
      event.preventDefault();
      event.stopImmediatePropagation();
      this.restore();
      this.read(text, event.timeStamp);
      return true;
    }
    if (event.key.length !== 1) return false;
    if (!fast) {
      this.text = "";
      this.on.begins();
      this.before = this.fields().map((field) => [field, field.value]);
      // The first letters of a scan that began before this script did stand in a field: the rest alone would be another code.
      const early = this.at === undefined && event.timeStamp - this.since < tornMs;
      this.torn = early && this.before.some(([field, value]) => field === event.target && value !== field.defaultValue);
    }
    this.text += event.key;
    this.at = event.timeStamp;
    clearTimeout(this.timer);
    if (this.ours(this.text)) this.timer = setTimeout(() => this.unended(), 400);
    if (!this.ours(this.text)) return false;
    event.preventDefault(); // the rest of it goes nowhere
    return true;
  }

  ours = (text) => text.length > this.prefix.length && text.toUpperCase().startsWith(this.prefix);
  scanned = (text) => this.ours(text) || (text.length >= leastOther && !this.torn);

  unended() {
    this.text = "";
    this.restore();
    this.on.unended();
  }

  restore() {
    for (const [field, value] of this.before ?? []) if (field.value !== value) field.value = value;
    this.on.restored();
  }

  read(text, at) {
    if (!text.toUpperCase().startsWith(this.prefix)) {
      this.on.foreign(text);
      return;
    }
    const word = text.toUpperCase().slice(this.prefix.length);
    if (word === this.last.word && at - this.last.at < againMs) return;
    this.last = { word, at };
    if (!this.on.word(word)) this.on.garbled(word);
  }
}
