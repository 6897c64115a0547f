// Cues for whose eyes are on the watch: a tone, and the position called out where the browser has a voice. The program
// does not measure while they sound.
export class Cue {
  // Called by a press, since browsers let a page sound only then.
  constructor(voice) {
    const Context = window.AudioContext || window.webkitAudioContext;
    this.context = new Context();
    this.context.resume().catch(() => {});
    this.voice = voice;
  }

  tone(times, hz = 880) {
    const begin = this.context.currentTime + 0.02;
    for (let i = 0; i < times; i++) {
      const at = begin + i * 0.28;
      const tone = this.context.createOscillator();
      const gain = this.context.createGain();
      tone.frequency.value = hz;
      gain.gain.setValueAtTime(0, at);
      gain.gain.linearRampToValueAtTime(0.25, at + 0.02);
      gain.gain.setValueAtTime(0.25, at + 0.14);
      gain.gain.linearRampToValueAtTime(0, at + 0.18);
      tone.connect(gain).connect(this.context.destination);
      tone.start(at);
      tone.stop(at + 0.2);
    }
  }

  say(text) {
    if (!this.voice || !window.speechSynthesis) return;
    speechSynthesis.cancel();
    const said = new SpeechSynthesisUtterance(text);
    said.lang = document.documentElement.lang || "en-GB";
    speechSynthesis.speak(said);
  }

  close() {
    window.speechSynthesis?.cancel();
    this.context.close().catch(() => {});
  }
}
