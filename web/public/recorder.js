// Runs beside the sound: hands over what the microphone gives, sample by sample, as it is.
class Recorder extends AudioWorkletProcessor {
  process(inputs) {
    const channel = inputs[0]?.[0];
    if (channel) this.port.postMessage(channel.slice());
    return true;
  }
}
registerProcessor('calcant-recorder', Recorder);
