import { api, path, type Sound } from "../api";

export type Channels = "stereo" | "left" | "right" | "lateral" | "vertical";
export const channel_words: Record<Channels, string> = {
  stereo: "Both, as heard",
  left: "Left alone",
  right: "Right alone",
  lateral: "Lateral (L + R)",
  vertical: "Vertical (L − R)",
};
/** Gains left-left, left-right, right-left, right-right: what each input gives to each ear. */
export const channel_gains: Record<Channels, readonly [number, number, number, number]> = {
  stereo: [1, 0, 0, 1],
  left: [1, 1, 0, 0],
  right: [0, 0, 1, 1],
  lateral: [0.5, 0.5, 0.5, 0.5],
  vertical: [0.5, 0.5, -0.5, -0.5],
};
export const sounds: readonly Sound[] = ["capture", "cut", "difference"];

export const lowest_dB = -40,
  highest_dB = 24;
export const gain_of = (level_dB: number) => 10 ** (level_dB / 20);

/** A loop's ends would click, and a click is what is listened for: the ends are faded. */
export function fade_ends(samples: Float32Array, length: number): void {
  const n = Math.min(length, Math.floor(samples.length / 2));
  for (let i = 0; i < n; ++i) {
    const share = 0.5 - 0.5 * Math.cos((Math.PI * (i + 0.5)) / n);
    samples[i] = (samples[i] as number) * share;
    const j = samples.length - 1 - i;
    samples[j] = (samples[j] as number) * share;
  }
}

export interface Window {
  from_s: number;
  to_s: number;
  sounds: Partial<Record<Sound, AudioBuffer>>;
}

const sample_rate_Hz = 48000;
const fade_s = 0.015,
  piece_s = 8,
  overlap_s = 0.02,
  change_s = 0.02;

/**
 * Plays a looped window of capture, cut and difference in step, so that one changes for another without a gap, or the
 * whole side from a moment on, fetched piece by piece.
 */
export class Player {
  private context: AudioContext | null = null;
  private level: GainNode | null = null;
  private matrix: GainNode[] = [];
  private readonly gates = new Map<Sound, GainNode>();
  private sources: AudioBufferSourceNode[] = [];
  private began_at = 0;
  private window: Window | null = null;
  private side: { stop: AbortController; from_s: number; began_at: number; ends_s: number } | null = null;
  private readonly windows = new Map<string, Promise<Window>>();

  sound: Sound = "capture";
  level_dB = -6;
  channels: Channels = "stereo";
  on_change: () => void = () => {};
  on_error: (error: unknown) => void = () => {};

  constructor(
    readonly report: string,
    readonly available: Record<Sound, boolean>,
  ) {}

  private ready(): AudioContext {
    if (this.context) return this.context;
    const context = new AudioContext({ sampleRate: sample_rate_Hz, latencyHint: "interactive" });
    const splitter = new ChannelSplitterNode(context, { numberOfOutputs: 2 });
    const merger = new ChannelMergerNode(context, { numberOfInputs: 2 });
    this.matrix = [0, 1, 2, 3].map((i) => {
      const gain = new GainNode(context, { gain: channel_gains[this.channels][i as 0 | 1 | 2 | 3] });
      splitter.connect(gain, i >> 1);
      gain.connect(merger, 0, i & 1);
      return gain;
    });
    this.level = new GainNode(context, { gain: gain_of(this.level_dB) });
    merger.connect(this.level).connect(context.destination);
    for (const sound of sounds) {
      const gate = new GainNode(context, {
        gain: sound === this.sound ? 1 : 0,
        channelCount: 2,
        channelCountMode: "explicit",
      });
      gate.connect(splitter);
      this.gates.set(sound, gate);
    }
    this.context = context;
    return context;
  }

  /** The window's sounds, fetched and decoded once. */
  load(from_s: number, to_s: number): Promise<Window> {
    const key = `${from_s.toFixed(4)}-${to_s.toFixed(4)}`;
    const known = this.windows.get(key);
    if (known) return known;
    const loading = this.fetch_window(from_s, to_s);
    if (this.windows.size > 24) this.windows.clear();
    this.windows.set(key, loading);
    loading.catch(() => this.windows.delete(key));
    return loading;
  }

  private async fetch_window(from_s: number, to_s: number): Promise<Window> {
    // An offline context decodes before anybody has pressed a key, which a browser asks for before sound.
    const decoder = new OfflineAudioContext(2, 1, sample_rate_Hz);
    const wanted = sounds.filter((sound) => this.available[sound]);
    const decoded = await Promise.all(
      wanted.map(async (sound) =>
        decoder.decodeAudioData(await api.bytes(path.audio(this.report, sound, from_s, to_s))),
      ),
    );
    return { from_s, to_s, sounds: Object.fromEntries(wanted.map((sound, i) => [sound, decoded[i]])) };
  }

  async play_window(from_s: number, to_s: number): Promise<void> {
    const window = await this.load(from_s, to_s);
    this.stop();
    const context = this.ready();
    await context.resume();
    const at = context.currentTime + 0.03;
    for (const [sound, buffer] of Object.entries(window.sounds) as [Sound, AudioBuffer][]) {
      const source = new AudioBufferSourceNode(context, { buffer: faded(buffer), loop: true });
      source.connect(this.gates.get(sound) as GainNode);
      source.start(at);
      this.sources.push(source);
    }
    this.window = window;
    this.began_at = at;
    this.on_change();
  }

  /** The whole side from a capture time on, in pieces that overlap a little and are faded into one another. */
  play_side(from_s: number, to_s: number): void {
    this.stop();
    const context = this.ready();
    void context.resume();
    const side = { stop: new AbortController(), from_s, began_at: context.currentTime + 0.4, ends_s: to_s };
    this.side = side;
    this.on_change();
    this.feed(side, this.sound).catch((error: unknown) => {
      if (side.stop.signal.aborted) return;
      this.stop();
      this.on_error(error);
    });
  }

  private async feed(side: NonNullable<Player["side"]>, sound: Sound): Promise<void> {
    const context = this.ready();
    for (let from_s = side.from_s; from_s < side.ends_s; from_s += piece_s) {
      const to_s = Math.min(from_s + piece_s + overlap_s, side.ends_s);
      const bytes = await api.bytes(path.audio(this.report, sound, from_s, to_s), side.stop.signal);
      const buffer = await context.decodeAudioData(bytes);
      if (side.stop.signal.aborted) return;
      // What arrives late is made up for by moving the whole of the rest, not by dropping a part.
      const due = side.began_at + (from_s - side.from_s);
      if (due < context.currentTime + 0.05) side.began_at += context.currentTime + 0.1 - due;
      this.start_piece(buffer, sound, side.began_at + (from_s - side.from_s), from_s > side.from_s, to_s < side.ends_s);
      const ahead = () => side.began_at + (from_s + piece_s - side.from_s) - context.currentTime;
      while (ahead() > piece_s && !side.stop.signal.aborted) await new Promise((done) => setTimeout(done, 200));
      if (side.stop.signal.aborted) return;
    }
    await new Promise((done) =>
      setTimeout(done, Math.max(0, (side.began_at + side.ends_s - side.from_s - context.currentTime) * 1e3)),
    );
    if (!side.stop.signal.aborted) this.stop();
  }

  private start_piece(buffer: AudioBuffer, sound: Sound, at: number, fade_in: boolean, fade_out: boolean): void {
    const context = this.ready();
    const gain = new GainNode(context, { gain: fade_in ? 0 : 1 });
    const source = new AudioBufferSourceNode(context, { buffer });
    if (fade_in) gain.gain.setValueAtTime(0, at).linearRampToValueAtTime(1, at + overlap_s);
    if (fade_out) gain.gain.setValueAtTime(1, at + piece_s).linearRampToValueAtTime(0, at + piece_s + overlap_s);
    source.connect(gain).connect(this.gates.get(sound) as GainNode);
    source.start(at);
    this.sources.push(source);
    source.onended = () => {
      this.sources = this.sources.filter((one) => one !== source);
    };
  }

  stop(): void {
    this.side?.stop.abort();
    for (const source of this.sources) source.stop();
    const was = this.window !== null || this.side !== null;
    this.sources = [];
    this.window = null;
    this.side = null;
    if (was) this.on_change();
  }

  close(): void {
    this.on_change = () => {};
    this.stop();
    void this.context?.close();
    this.context = null;
  }

  get playing(): "window" | "side" | null {
    return this.window ? "window" : this.side ? "side" : null;
  }

  /** Where in the capture what is heard now was recorded; null while nothing plays. */
  position_s(): number | null {
    const context = this.context;
    if (!context) return null;
    const now = context.currentTime - (context.outputLatency || 0);
    if (this.window) {
      const length = this.window.to_s - this.window.from_s;
      return this.window.from_s + (Math.max(0, now - this.began_at) % length);
    }
    return this.side ? this.side.from_s + Math.max(0, now - this.side.began_at) : null;
  }

  choose_sound(sound: Sound): void {
    if (!this.available[sound]) return;
    this.sound = sound;
    const at = this.context?.currentTime ?? 0;
    for (const [name, gate] of this.gates) gate.gain.setTargetAtTime(name === sound ? 1 : 0, at, change_s / 3);
    const position_s = this.position_s();
    if (this.side && position_s !== null) this.play_side(position_s, this.side.ends_s);
    this.on_change();
  }

  set_level(level_dB: number): void {
    this.level_dB = Math.min(Math.max(level_dB, lowest_dB), highest_dB);
    if (this.context) this.level?.gain.setTargetAtTime(gain_of(this.level_dB), this.context.currentTime, 0.01);
    this.on_change();
  }

  set_channels(channels: Channels): void {
    this.channels = channels;
    if (this.context)
      this.matrix.forEach((gain, i) =>
        gain.gain.setTargetAtTime(channel_gains[channels][i as 0 | 1 | 2 | 3], this.context?.currentTime ?? 0, 0.01),
      );
    this.on_change();
  }
}

function faded(buffer: AudioBuffer): AudioBuffer {
  const copy = new AudioBuffer({
    length: buffer.length,
    numberOfChannels: buffer.numberOfChannels,
    sampleRate: buffer.sampleRate,
  });
  for (let channel = 0; channel < buffer.numberOfChannels; ++channel) {
    const samples = buffer.getChannelData(channel).slice();
    fade_ends(samples, Math.round(fade_s * buffer.sampleRate));
    copy.copyToChannel(samples, channel);
  }
  return copy;
}
