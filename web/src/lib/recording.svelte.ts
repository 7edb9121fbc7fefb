// Recording in the browser, with everything off that browsers do to voices: echo, noise and level control.
import { samples24, wavHead } from './wav';

const longest = 60 * 60; // seconds; beyond that a recorder and a file are the better way

export class Recording {
  state = $state<'idle' | 'recording'>('idle');
  seconds = $state(0);
  peak = $state(0);
  trouble = $state('');
  /** what the browser did not switch off, though it was asked to */
  stillOn = $state<string[]>([]);
  #context: AudioContext | null = null;
  #stream: MediaStream | null = null;
  #parts: Uint8Array<ArrayBuffer>[] = [];
  #frames = 0;

  async begin(): Promise<void> {
    this.trouble = '';
    try {
      const asked = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
      this.#stream = await navigator.mediaDevices.getUserMedia({ audio: asked });
      const settings = this.#stream.getAudioTracks()[0]?.getSettings() ?? {};
      this.stillOn = [
        settings.echoCancellation ? 'echo removal' : '',
        settings.noiseSuppression ? 'noise removal' : '',
        settings.autoGainControl ? 'automatic level' : '',
      ].filter((s) => s !== '');
      this.#context = new AudioContext();
      await this.#context.audioWorklet.addModule('/recorder.js');
      const node = new AudioWorkletNode(this.#context, 'calcant-recorder', { numberOfOutputs: 0 });
      node.port.onmessage = (e: MessageEvent<Float32Array>) => this.#take(e.data);
      this.#parts = [];
      this.#frames = 0;
      this.seconds = 0;
      this.peak = 0;
      this.#context.createMediaStreamSource(this.#stream).connect(node);
      this.state = 'recording';
    } catch (e) {
      this.#close();
      const refused = e instanceof DOMException && e.name === 'NotAllowedError';
      this.trouble = refused
        ? 'The browser did not let Calcant use the microphone. Allow it for this page, or hand over a file from a recorder.'
        : 'No microphone could be used here. Hand over a file from a recorder instead.';
    }
  }

  #take(samples: Float32Array): void {
    if (this.state !== 'recording') return;
    this.#parts.push(samples24(samples));
    this.#frames += samples.length;
    let peak = this.peak;
    for (const s of samples) peak = Math.max(peak, Math.abs(s));
    this.peak = peak;
    const seconds = Math.floor(this.#frames / (this.#context?.sampleRate ?? 48_000));
    if (seconds !== this.seconds) this.seconds = seconds;
    if (seconds >= longest) this.trouble = 'An hour is the longest that is recorded here; stop and hand it over.';
  }

  /** Ends it and gives the file. */
  end(name: string): File {
    const rate = this.#context?.sampleRate ?? 48_000;
    this.state = 'idle';
    this.#close();
    return new File([wavHead(this.#frames, rate), ...this.#parts], name, { type: 'audio/wav' });
  }
  stop(): void {
    this.state = 'idle';
    this.#parts = [];
    this.#close();
  }
  #close(): void {
    for (const t of this.#stream?.getTracks() ?? []) t.stop();
    void this.#context?.close();
    this.#stream = null;
    this.#context = null;
  }
}
