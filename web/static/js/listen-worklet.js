// Runs beside the page, in the sound system's own thread: gathers what the microphone hears into blocks and hands them
// over untouched, with the number of samples that are missing before each: the sound system counts its frames, and leaves
// some out when it can't keep up. Of several channels the first is taken.
const blockSamples = 4096;

class Gather extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(blockSamples);
    this.filled = 0;
    this.lost = 0;
  }

  process(inputs) {
    const channel = inputs[0]?.[0];
    if (!channel) { // no sound yet, or none any more
      this.next = undefined;
      return true;
    }
    this.first ??= currentFrame;
    // In the first second browsers leave out a buffer or so as they hand the work to this thread.
    const starting = currentFrame < this.first + sampleRate;
    const missing = starting || this.next === undefined ? 0 : currentFrame - this.next;
    this.next = currentFrame + channel.length;
    if (missing > 0) {
      if (this.filled > 0) this.hand();
      this.lost = missing;
    }
    let from = 0;
    while (from < channel.length) {
      const n = Math.min(channel.length - from, blockSamples - this.filled);
      this.block.set(channel.subarray(from, from + n), this.filled);
      this.filled += n;
      from += n;
      if (this.filled === blockSamples) this.hand();
    }
    return true;
  }

  hand() {
    const samples = this.filled < blockSamples ? this.block.slice(0, this.filled) : this.block;
    this.port.postMessage({ samples, lost: this.lost }, [samples.buffer]);
    this.block = new Float32Array(blockSamples);
    this.filled = 0;
    this.lost = 0;
  }
}

registerProcessor("gather", Gather);
