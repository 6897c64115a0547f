// Runs beside the page, in the sound system's own thread: gathers what the microphone hears into blocks and hands them
// over untouched. Of several channels the first is taken.
const blockSamples = 4096;

class Gather extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(blockSamples);
    this.filled = 0;
  }

  process(inputs) {
    const channel = inputs[0]?.[0];
    if (!channel) return true; // no sound yet
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
    this.port.postMessage(this.block, [this.block.buffer]);
    this.block = new Float32Array(blockSamples);
    this.filled = 0;
  }
}

registerProcessor("gather", Gather);
