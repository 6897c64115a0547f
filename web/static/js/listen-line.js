// The line to the program: one WebSocket that is opened again when it breaks. Samples are numbered from the session's
// first; those that the program has not acknowledged are kept for a minute and sent again.
const keptS = 60;
const mostLostS = 60; // at once: more is a microphone that was off
const mostWaiting = 512 * 1024; // bytes handed to the socket and not yet sent
const retryMs = [250, 500, 1000, 2000, 4000];
const giveUpMs = 5 * 60 * 1000; // the program forgets the session then

export class Line {
  // on: open(resumed), report(r), refused(problems), broken(), error(code, text)
  constructor(path, rate, on) {
    const url = new URL(path, location.href);
    url.protocol = url.protocol.replace("http", "ws");
    this.url = url;
    this.rate = rate;
    this.on = on;
    this.session = "";
    this.blocks = []; // { first, samples }
    this.next = 0; // number of the sample to come
    this.sent = 0; // all before it were handed to the socket
    this.words = []; // { after, text }: what is said once all sound before it has gone
    this.tries = 0;
    this.ended = false;
    this.still = setInterval(() => this.say({ type: "still" }), 10000);
    this.connect();
  }

  connect() {
    this.ready = false;
    const ws = new WebSocket(this.url);
    this.ws = ws;
    ws.binaryType = "arraybuffer";
    ws.onopen = () => ws.send(JSON.stringify({ type: "hello", rate_hz: this.rate, session: this.session }));
    ws.onmessage = (event) => {
      if (ws === this.ws && typeof event.data === "string") this.hear(JSON.parse(event.data));
    };
    ws.onclose = () => {
      if (ws === this.ws) this.broke();
    };
  }

  hear(m) {
    switch (m.type) {
      case "welcome":
        this.session = m.session;
        this.tries = 0;
        this.down = 0;
        this.ready = true;
        this.acked(m.acked);
        this.sent = m.acked;
        this.on.open(m.resumed, m.session);
        this.flush();
        break;
      case "report":
        this.acked(m.acked);
        this.flush();
        this.on.report(m);
        break;
      case "refused":
        this.on.refused(m.problems);
        break;
      case "error":
        this.close();
        this.on.error(m.code, m.text);
        break;
    }
  }

  broke() {
    this.ready = false;
    if (this.ended) return;
    this.down ||= Date.now();
    if (Date.now() - this.down > giveUpMs) {
      this.close();
      this.on.error("gone", "The program could not be reached for five minutes. What was heard is lost; begin again.");
      return;
    }
    this.on.broken();
    this.retry = setTimeout(() => this.connect(), retryMs[Math.min(this.tries++, retryMs.length - 1)]);
  }

  // push takes a block of samples, before which so many are missing: their numbers are left out.
  push(samples, lost = 0) {
    this.next += Math.min(lost, mostLostS * this.rate);
    this.blocks.push({ first: this.next, samples });
    this.next += samples.length;
    const oldest = this.next - keptS * this.rate;
    while (this.blocks.length && this.blocks[0].first + this.blocks[0].samples.length < oldest) this.blocks.shift();
    this.flush();
  }

  acked(number) {
    while (this.blocks.length && this.blocks[0].first + this.blocks[0].samples.length <= number) this.blocks.shift();
  }

  flush() {
    if (!this.ready || this.ws.readyState !== WebSocket.OPEN) return;
    for (const block of this.blocks) {
      const end = block.first + block.samples.length;
      if (end <= this.sent) continue;
      this.flushWords(block.first);
      if (this.ws.bufferedAmount > mostWaiting) return;
      this.ws.send(frame(block));
      this.sent = end;
    }
    this.flushWords(this.next);
  }

  flushWords(upTo) {
    while (this.words.length && this.words[0].after <= upTo) this.ws.send(this.words.shift().text);
  }

  // say sends words after the sound that came before them.
  say(message) {
    if (message.type === "still" && !this.ready) return;
    if (message.type === "start") this.words = this.words.filter((w) => !w.text.includes('"type":"start"'));
    this.words.push({ after: this.next, text: JSON.stringify(message) });
    this.flush();
  }

  close() {
    this.ended = true;
    clearInterval(this.still);
    clearTimeout(this.retry);
    this.ready = false;
    this.ws.onclose = null;
    this.ws.close();
  }
}

// frame writes the number of the first sample, 64 bit, and the samples, 32-bit floats, little endian.
function frame(block) {
  const data = new DataView(new ArrayBuffer(8 + 4 * block.samples.length));
  data.setBigUint64(0, BigInt(block.first), true);
  block.samples.forEach((x, i) => data.setFloat32(8 + 4 * i, x, true));
  return data.buffer;
}
