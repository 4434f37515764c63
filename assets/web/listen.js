// Hands what comes in at an input to the trainer, 1024 frames at a time. Nothing
// is written to its output, which stays silent.
class Listen extends AudioWorkletProcessor {
  constructor() {
    super();
    this.fresh();
  }

  fresh() {
    this.sides = [new Float32Array(1024), new Float32Array(1024)];
    this.count = 0;
  }

  process([input]) {
    if (input.length === 0) {
      return true;
    }
    for (let ch = 0; ch < 2; ch++) {
      this.sides[ch].set(input[Math.min(ch, input.length - 1)], this.count);
    }
    this.count += input[0].length;
    if (this.count === 1024) {
      this.port.postMessage(this.sides, this.sides.map((x) => x.buffer));
      this.fresh();
    }
    return true;
  }
}

registerProcessor("listen", Listen);
