// An audio interface for the journeys: ALSA's own file plugin, which reads what a pipe brings, and what is played into it.
import { execFileSync } from "node:child_process";
import { closeSync, constants, openSync, read, readFileSync, write, writeFileSync } from "node:fs";
import { join } from "node:path";
import { promisify } from "node:util";

const rate_Hz = 96000,
  piece = rate_Hz / 20, // what the server reads at once
  frame_bytes = 8,
  floor = 2 ** 31 * 10 ** (-84 / 20);

/** A 24-bit stereo WAV as frames of 32 bits, in pieces. */
function pieces_of(file) {
  const wav = readFileSync(file);
  const form = wav.indexOf("fmt ", 12, "latin1") + 8,
    data = wav.indexOf("data", form, "latin1") + 8;
  if (wav.readUInt16LE(form + 14) !== 24 || wav.readUInt16LE(form + 2) !== 2 || wav.readUInt32LE(form + 4) !== rate_Hz)
    throw new Error(`${file} is no 24-bit stereo WAV of ${rate_Hz} Hz`);
  const pieces = [];
  for (let at = data; at + 6 * piece <= wav.length; at += 6 * piece) {
    const bytes = Buffer.alloc(piece * frame_bytes);
    for (let i = 0; i < 2 * piece; ++i) bytes.writeInt32LE(wav.readIntLE(at + 3 * i, 3) * 256, 4 * i);
    pieces.push(bytes);
  }
  return pieces;
}

function noise() {
  const bytes = Buffer.alloc(piece * frame_bytes);
  for (let i = 0; i < 2 * piece; ++i) {
    const normal = Math.sqrt(-2 * Math.log(1 - Math.random())) * Math.cos(2 * Math.PI * Math.random());
    bytes.writeInt32LE(Math.round((floor * normal) / 256) * 256, 4 * i);
  }
  return bytes;
}

/** Always brings the bench's own noise, and between it what is played; so many times faster than a real one. */
export class SoundBench {
  constructor(folder, speed = 4) {
    const pipe = join(folder, "bench.pipe");
    execFileSync("mkfifo", [pipe]);
    this.pipe = openSync(pipe, constants.O_RDWR);
    const config = join(folder, "bench.conf");
    writeFileSync(
      config,
      `pcm.bench { type file slave.pcm { type null } file "/dev/null" infile "${pipe}" format raw
       hint { show on description "Bench A, phono input" } }\n`,
    );
    this.environment = { ALSA_CONFIG_PATH: config };
    this.waiting = [];
    this.wait_ms = 50 / speed;
    this.going = this.run();
  }
  play(file) {
    this.waiting.push(...pieces_of(file));
  }
  async run() {
    const quiet = noise(),
      put = promisify(write);
    while (!this.ending) {
      // A pipe that nobody reads keeps the write waiting, and nobody else.
      await put(this.pipe, this.waiting.shift() ?? quiet);
      await new Promise((done) => setTimeout(done, this.wait_ms));
    }
  }
  async end() {
    // A write that waits for room would keep the program from ending: what lies in the pipe is taken out.
    await promisify(read)(this.pipe, Buffer.alloc(1 << 16), 0, 1 << 16, null);
    this.ending = true;
    await this.going;
    closeSync(this.pipe);
  }
}
