// Hands what a microphone hears to the page, some blocks at a time. Nothing is kept.
registerProcessor(
  "hear",
  class extends AudioWorkletProcessor {
    blocks = [];
    process([input]) {
      if (input[0]) this.blocks.push(...input[0]);
      if (this.blocks.length < 512) return true;
      // The moment of the first sample that is handed over.
      const time = currentTime + (128 - this.blocks.length) / sampleRate;
      this.port.postMessage([time, Float32Array.from(this.blocks)]);
      this.blocks = [];
      return true;
    }
  },
);
