// Contract: form[data-sound-upload] has a file input named "sound" and a [data-sound-status]. WAV and FLAC go to the server
// as they are. Any other sound that the browser can decode is decoded here and takes the file's place as a WAV, at 48 kHz
// and 24 bit, its first two channels; the hidden field "by_browser" says so. Without this script WAV and FLAC still work.
const rateHz = 48000;
const mostSeconds = 30 * 60; // decoded sound lies whole in memory

for (const form of document.querySelectorAll("form[data-sound-upload]")) {
  const input = form.elements.sound;
  const status = form.querySelector("[data-sound-status]");
  const say = (text) => { if (status) status.textContent = text; };
  input.addEventListener("change", () => prepare(form, input, say));
  form.addEventListener("submit", (event) => {
    if (form.dataset.preparing) {
      event.preventDefault();
      say("One moment: the browser is still decoding.");
      return;
    }
    if (input.files.length > 0) say("Sending, then listening. A long recording takes a while.");
  });
}

async function prepare(form, input, say) {
  form.querySelector("input[name='by_browser']")?.remove();
  say("");
  const file = input.files[0];
  if (!file || file.type === "" && file.size === 0) return;
  if (await isPlain(file)) {
    tooLarge(form, file, say);
    return;
  }
  form.dataset.preparing = "yes";
  say("Decoding in the browser…");
  try {
    const sound = await new OfflineAudioContext(1, 1, rateHz).decodeAudioData(await file.arrayBuffer());
    if (sound.duration > mostSeconds) throw new RangeError("long");
    if (input.files[0] !== file) return; // another one was chosen meanwhile
    const wav = new File([wavOf(sound)], `${file.name}.wav`, { type: "audio/wav" });
    const files = new DataTransfer();
    files.items.add(wav);
    input.files = files.files;
    form.append(hidden("by_browser", "yes"));
    say(`Decoded by the browser: ${Math.round(sound.duration)} s. It is sent as WAV.`);
    tooLarge(form, wav, say);
  } catch (error) {
    input.value = "";
    say(error instanceof RangeError
      ? "This recording is longer than half an hour. Send it as WAV or FLAC instead."
      : "This browser can't decode the file. Send it as WAV or FLAC instead.");
  } finally {
    delete form.dataset.preparing;
  }
}

function tooLarge(form, file, say) {
  const most = Number(form.dataset.maxMb);
  if (file.size > most * 1024 * 1024) say(`This file is too large: at most ${most} MB. Send a shorter piece of it.`);
}

// isPlain tells WAV and FLAC by their first bytes, or by those after an ID3v2 tag, which FLAC and MP3 both have.
async function isPlain(file) {
  let head = await bytesAt(file, 0);
  if (nameOf(head).startsWith("ID3")) {
    head = await bytesAt(file, 10 + [6, 7, 8, 9].reduce((size, i) => size * 128 + (head[i] & 127), 0));
  }
  return ["RIFF", "RF64", "fLaC"].includes(nameOf(head));
}

async function bytesAt(file, at) {
  return new Uint8Array(await file.slice(at, at + 12).arrayBuffer());
}

function nameOf(head) {
  return String.fromCharCode(...head.slice(0, 4));
}

function hidden(name, value) {
  const field = document.createElement("input");
  field.type = "hidden";
  field.name = name;
  field.value = value;
  return field;
}

// wavOf writes RIFF/WAVE, PCM of 24 bit.
function wavOf(sound) {
  const channels = Math.min(sound.numberOfChannels, 2);
  const bytes = sound.length * channels * 3;
  const view = new DataView(new ArrayBuffer(44 + bytes));
  const word = (at, text) => [...text].forEach((c, i) => view.setUint8(at + i, c.charCodeAt(0)));
  word(0, "RIFF");
  view.setUint32(4, 36 + bytes, true);
  word(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, channels, true);
  view.setUint32(24, sound.sampleRate, true);
  view.setUint32(28, sound.sampleRate * channels * 3, true);
  view.setUint16(32, channels * 3, true);
  view.setUint16(34, 24, true);
  word(36, "data");
  view.setUint32(40, bytes, true);
  let at = 44;
  const data = Array.from({ length: channels }, (_, c) => sound.getChannelData(c));
  for (let i = 0; i < sound.length; i++) {
    for (let c = 0; c < channels; c++) {
      const x = Math.round(Math.max(-1, Math.min(1, data[c][i])) * 8388607);
      view.setUint8(at, x & 255);
      view.setUint8(at + 1, x >> 8 & 255);
      view.setUint8(at + 2, x >> 16 & 255);
      at += 3;
    }
  }
  return view.buffer;
}
