// Passes the microphone's samples to the page, a few blocks at a time. Nothing is stored.
registerProcessor(
  "hear",
  class extends AudioWorkletProcessor {
    blocks = [];
    process([input]) {
      if (input[0]) this.blocks.push(...input[0]);
      if (this.blocks.length < 512) return true;
      // When the first of these samples was heard.
      const time = currentTime + (128 - this.blocks.length) / sampleRate;
      this.port.postMessage([time, Float32Array.from(this.blocks)]);
      this.blocks = [];
      return true;
    }
  },
);
