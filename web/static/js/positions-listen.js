// Listening from the bench view: the microphone and the line of the listening page, one position at a time.
import { Trouble, openMicrophone } from "./listen-microphone.js";
import { Line } from "./listen-line.js";

export class Ear {
  // on: report(r), trouble(text), down(), ended()
  constructor(base, on) {
    this.base = base;
    this.on = on;
    this.microphone = null;
    this.line = null;
    this.started = 0; // counts the starts: what is reported of an earlier one is not shown any more
  }

  get listening() {
    return this.microphone !== null;
  }

  get session() {
    return this.line?.session ?? "";
  }

  // start is called by a key, since browsers start sound by one only.
  async start(fields) {
    try {
      this.microphone ??= await openMicrophone("", (samples, lost) => this.line?.push(samples, lost), () => {
        this.on.trouble("The microphone was unplugged or taken away. What was heard before counts.");
        this.stop();
      });
    } catch (error) {
      if (!(error instanceof Trouble)) throw error;
      this.on.trouble(error.message);
      this.on.ended();
      return;
    }
    if (this.line && this.line.rate !== this.microphone.rate) this.hangUp();
    this.line ??= new Line(this.base + "/socket", this.microphone.rate, {
      open: () => this.on.trouble(""),
      report: (r) => {
        if (r.phase && r.started === String(this.started)) this.on.report(r);
      },
      refused: (problems) => {
        this.on.trouble(Object.values(problems).join(" "));
        this.stop();
      },
      broken: () => this.on.down(),
      error: (code, text) => {
        this.on.trouble(text);
        this.hangUp();
        this.stop();
      },
    });
    this.line.say({ type: "start", fields: { ...fields, started: String(++this.started) } });
  }

  // stop ends listening; the session stays, so that what was heard can be kept.
  stop() {
    this.line?.say({ type: "stop" });
    this.started++;
    this.microphone?.close();
    this.microphone = null;
    this.on.ended();
  }

  hangUp() {
    this.line?.close();
    this.line = null;
  }
}
