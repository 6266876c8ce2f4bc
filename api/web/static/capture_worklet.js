// Microphone in, tenths of a second at 16 kHz out (int16). Runs in the audio thread.
//
// The context keeps the microphone's own rate (some browsers refuse another); what lies above 8 kHz is
// taken out by a windowed sinc before every third (or so) sample is kept, or it would fold down into speech.

const OUT_HZ = 16000;
const FRAME = 1600;
const PASS_HZ = 7200; // the filter falls from here to 8 kHz
const LOBES = 16; // zero crossings on each side: about 70 dB down in the stop band with this window
const STEPS = 256; // kernel values a lobe, taken linearly between

function kernel() {
  const values = new Float32Array(LOBES * STEPS + 2);
  for (let i = 0; i < values.length; i++) {
    const x = i / STEPS;
    const sinc = x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x);
    const w = Math.min(1, x / LOBES); // Blackman
    values[i] = sinc * (0.42 + 0.5 * Math.cos(Math.PI * w) + 0.08 * Math.cos(2 * Math.PI * w));
  }
  return values;
}

class Capture extends AudioWorkletProcessor {
  constructor() {
    super();
    this.kernel = kernel();
    this.step = sampleRate / OUT_HZ; // input samples between two output samples
    this.scale = Math.min(1, (2 * PASS_HZ) / sampleRate); // cut-off as a share of the input's half rate
    this.half = LOBES / this.scale; // input samples on each side
    this.kept = new Float32Array(0);
    this.first = 0; // number of the first kept input sample
    this.at = 0; // where the next output sample lies, in input samples
    this.frame = new Int16Array(FRAME);
    this.filled = 0;
    this.masked = false;
    this.peak = 0;
    this.port.onmessage = (event) => { this.masked = event.data.masked; };
  }

  process(inputs) {
    const channels = inputs[0];
    if (!channels.length) return true;
    const length = channels[0].length;
    const mono = new Float32Array(this.kept.length + length);
    mono.set(this.kept);
    for (const channel of channels) {
      for (let i = 0; i < length; i++) mono[this.kept.length + i] += channel[i] / channels.length;
    }
    this.resample(mono);
    return true;
  }

  resample(mono) {
    const end = this.first + mono.length;
    while (this.at + this.half < end) {
      let sum = 0;
      const from = Math.max(this.first, Math.ceil(this.at - this.half));
      const to = Math.floor(this.at + this.half);
      for (let n = from; n <= to; n++) {
        const x = Math.abs(this.at - n) * this.scale * STEPS;
        const i = x | 0;
        sum += mono[n - this.first] * (this.kernel[i] + (x - i) * (this.kernel[i + 1] - this.kernel[i]));
      }
      this.put(sum * this.scale);
      this.at += this.step;
    }
    const keep = Math.max(this.first, Math.floor(this.at - this.half));
    this.kept = mono.slice(keep - this.first);
    this.first = keep;
  }

  put(value) {
    this.peak = Math.max(this.peak, Math.abs(value));
    // What the tool says itself must not come back as something that was said to it.
    const heard = this.masked ? 0 : value;
    this.frame[this.filled++] = Math.max(-32768, Math.min(32767, Math.round(heard * 32767)));
    if (this.filled < FRAME) return;
    this.port.postMessage({ samples: this.frame, peak: this.peak, masked: this.masked }, [this.frame.buffer]);
    this.frame = new Int16Array(FRAME);
    this.filled = 0;
    this.peak = 0;
  }
}

registerProcessor("capture", Capture);
