// The microphone: asked for with all processing off, checked, and handed on as blocks of samples.

// Trouble is something the person has to know, in words.
export class Trouble extends Error {}

const wanted = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

const processing = {
  echoCancellation: "echo cancellation",
  noiseSuppression: "noise suppression",
  autoGainControl: "automatic gain",
};

// Browsers give the microphone to secure origins only.
export function obstacle() {
  if (!window.isSecureContext) {
    return "The browser gives the microphone only to a page that came over TLS (an https address) or from this very machine. " +
      "Ask the owner to serve the program over TLS; its manual says how, and how this device learns to trust it.";
  }
  if (!navigator.mediaDevices?.getUserMedia) return "This browser can't give a page the microphone. A newer one can.";
  if (!(window.AudioContext || window.webkitAudioContext) || !window.AudioWorkletNode) {
    return "This browser can't hand a page the sound as it comes. A newer one can.";
  }
  return "";
}

// A browser without a sound output may never start its sound, and never say so: what is awaited has an end.
const startsWithinMs = 5000;
const noOutput = "The browser’s sound does not start. It may find no sound output: connect a loudspeaker or headphones, or turn one on in " +
  "the system’s sound settings, and start again.";

function within(promise, why) {
  let timer;
  const late = new Promise((_, fail) => {
    timer = setTimeout(() => fail(new Trouble(why)), startsWithinMs);
  });
  return Promise.race([promise, late]).finally(() => clearTimeout(timer));
}

function words(error) {
  switch (error.name) {
    case "NotAllowedError":
    case "SecurityError":
      return "The browser was told not to give this page the microphone. Allow it in the settings of the page, beside its address, and start again.";
    case "NotFoundError":
    case "OverconstrainedError":
      return "There is no microphone, or the one chosen was unplugged.";
    case "NotReadableError":
    case "AbortError":
      return "The microphone is there and gives no sound: another program may hold it.";
  }
  return "The microphone can't be opened: " + (error.message || error.name);
}

// openMicrophone is called by a press, since browsers start sound by one only. onBlock is given Float32Arrays, and how many samples are missing before each; onEnd is
// called when the microphone goes away.
export async function openMicrophone(deviceId, onBlock, onEnd) {
  const why = obstacle();
  if (why) throw new Trouble(why);
  let stream;
  try {
    const device = deviceId ? { deviceId: { exact: deviceId } } : {};
    stream = await navigator.mediaDevices.getUserMedia({ audio: { ...wanted, ...device }, video: false });
  } catch (error) {
    throw new Trouble(words(error));
  }
  const track = stream.getAudioTracks()[0];
  let context;
  try {
    context = contextFor(track);
    if (context.state !== "running") await within(context.resume(), noOutput);
    await within(context.audioWorklet.addModule(new URL("./listen-worklet.js", import.meta.url)), noOutput);
    const source = sourceOf(context, stream);
    const node = new AudioWorkletNode(context, "gather", { numberOfInputs: 1, numberOfOutputs: 1, channelCountMode: "max" });
    node.port.onmessage = (event) => onBlock(event.data.samples, event.data.lost);
    source.connect(node);
    node.connect(context.destination); // it writes nothing there; some browsers run only what leads somewhere
    track.addEventListener("ended", onEnd);
    context.addEventListener("statechange", () => {
      if (context.state === "suspended" || context.state === "interrupted") context.resume().catch(() => {});
    });
    return {
      rate: context.sampleRate,
      label: track.label,
      deviceId: track.getSettings?.().deviceId ?? "",
      warnings: warningsOf(track, context),
      close() {
        track.removeEventListener("ended", onEnd);
        node.port.onmessage = null;
        for (const each of stream.getTracks()) each.stop();
        context.close().catch(() => {});
      },
    };
  } catch (error) {
    for (const each of stream.getTracks()) each.stop();
    context?.close().catch(() => {});
    throw error instanceof Trouble ? error : new Trouble(words(error));
  }
}

// The context runs at the microphone's own rate where the browser tells it, so that nothing resamples on the way.
function contextFor(track) {
  const Context = window.AudioContext || window.webkitAudioContext;
  const rate = track.getSettings?.().sampleRate;
  try {
    return new Context(rate ? { sampleRate: rate, latencyHint: "playback" } : { latencyHint: "playback" });
  } catch {
    return new Context();
  }
}

function sourceOf(context, stream) {
  try {
    return context.createMediaStreamSource(stream);
  } catch {
    throw new Trouble("The microphone and the loudspeaker run at different rates, which this browser can't join. Set both to the same in the system's sound settings.");
  }
}

// warningsOf asks the browser what it does to the sound, for it may refuse to leave it alone.
function warningsOf(track, context) {
  const set = track.getSettings?.() ?? {};
  const list = [];
  for (const [name, said] of Object.entries(processing)) {
    if (set[name] === true) list.push(`This browser keeps its ${said} on, which bends level and timing: figures may be wrong. Try another browser or microphone.`);
  }
  if (set.sampleRate && set.sampleRate !== context.sampleRate) {
    list.push(`The microphone gives ${set.sampleRate} samples a second and the browser turns them into ${context.sampleRate}: calibrate the recorder as it is used here.`);
  }
  return list;
}

// microphones lists what there is; names are known only once the microphone was allowed.
export async function microphones() {
  const all = (await navigator.mediaDevices?.enumerateDevices?.()) ?? [];
  return all.filter((d) => d.kind === "audioinput" && d.deviceId)
    .map((d, i) => ({ id: d.deviceId, name: d.label || `Microphone ${i + 1}` }));
}

// Common practice: a peak at the end of the scale has been cut off, and one below −54 dB of it comes near the noise of
// plain sound hardware.
const clippedAt = 0.985;
const quietBelow = 0.002;

// Level follows the peaks and puts them into a word.
export class Level {
  constructor() {
    this.peak = 0;
    this.held = 0;
  }

  hear(samples) {
    let peak = 0;
    for (const x of samples) peak = Math.max(peak, Math.abs(x));
    this.peak = Math.max(peak, this.peak * 0.8);
    this.held = Math.max(peak, this.held * 0.97); // some seconds: beats are short and rare
  }

  // share is the length of the bar, 0 to 1 over 72 dB.
  share() {
    return Math.max(0, Math.min(1, 1 + (20 * Math.log10(Math.max(this.peak, 1e-6))) / 72));
  }

  word() {
    if (this.held >= clippedAt) return "too loud: clipping";
    if (this.held < quietBelow) return "too quiet";
    return "good level";
  }
}
