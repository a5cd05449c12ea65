// The demo's works for the journeys: one title of Tarnholt, two stampers of one mother, of which the second was hurt
// before its first disc, at two places; captures made by the played-side simulator.
import { execFile, execFileSync } from "node:child_process";
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { promisify } from "node:util";

const rate_Hz = 48000;

/** 16-bit stereo WAV of samples in [-1, 1], left and right in turn. */
export function wav(samples) {
  const bytes = Buffer.alloc(44 + samples.length * 2);
  bytes.write("RIFF", 0);
  bytes.writeUInt32LE(36 + samples.length * 2, 4);
  bytes.write("WAVEfmt ", 8);
  [
    [16, 4],
    [1, 2],
    [2, 2],
    [rate_Hz, 4],
    [rate_Hz * 4, 4],
    [4, 2],
    [16, 2],
  ].reduce((at, [value, size]) => {
    bytes.writeUIntLE(value, at, size);
    return at + size;
  }, 16);
  bytes.write("data", 36);
  bytes.writeUInt32LE(samples.length * 2, 40);
  samples.forEach((sample, i) => bytes.writeInt16LE(Math.round(Math.max(-1, Math.min(1, sample)) * 32767), 44 + 2 * i));
  return bytes;
}

/** Notes that change four times a second, with overtones, other ones left and right: every place is like no other. */
export function programme(seconds) {
  const samples = new Float64Array(2 * seconds * rate_Hz);
  for (let i = 0; i < seconds * rate_Hz; ++i) {
    const note = Math.floor((i * 4) / rate_Hz),
      since_s = i / rate_Hz - note / 4;
    for (const channel of [0, 1]) {
      const note_Hz = 220 * 2 ** ((((note + 3 * channel) * 7) % 24) / 12),
        fade = Math.min(1, since_s / 0.004, (0.25 - since_s) / 0.01) * Math.exp(-3 * since_s);
      let sum = 0;
      for (let overtone = 1; overtone <= 12; ++overtone)
        sum += Math.sin((2 * Math.PI * note_Hz * overtone * i) / rate_Hz) / overtone;
      samples[2 * i + channel] = 0.15 * fade * sum;
    }
  }
  return [...samples];
}

export const seconds = 16,
  fault_s = 7.3;

/** Makes the works in `folder` and returns its folder and the captures, by path. */
export async function make_works(program, folder) {
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(join(folder, "captures"), { recursive: true });
  const works = join(folder, "tarnholt");
  const run = (...words) => execFileSync(program, words, { encoding: "utf8", stdio: ["ignore", "pipe", "pipe"] });
  run("works", "init", works, "--name", "Tarnholt Pressings", "--zone", "Europe/London");
  mkdirSync(join(works, "cuts"), { recursive: true });
  const cut = join(works, "cuts", "ferryman-a.wav");
  writeFileSync(cut, wav(programme(seconds)));
  const works_run = (line) => run("works", ...line.split(" ").map((word) => word.replaceAll("_", " ")), "--in", works);
  const code = (line, pattern) => {
    const found = pattern.exec(works_run(line));
    if (!found) throw new Error(`no code in the answer to ${line}`);
    return found[0];
  };
  const add = (line) => code(`add ${line}`, /\b[A-Z]{1,2}-\d+-[A-Z0-9]\b/);
  const title = add("title name=The_Ferryman artist=Tarnholt_Trio");
  const side = add(`side title=${title} letter=A format=7in-45`),
    other = add(`side title=${title} letter=B format=7in-45`);
  const first_cut = add(`cut side=${side} reference=cuts/ferryman-a.wav pitch=0.2mm`);
  const order = add(`order title=${title} quantity=300 due=2026-12-18`);
  const father = add(`part kind=father cut=${first_cut} side=${side} origin=card state=ready`);
  const mother = add(`part kind=mother parent=${father} origin=card state=ready`);
  const stampers = [1, 2].map(() => add(`part kind=stamper parent=${mother} origin=card state=ready`));
  const back = add(`part kind=stamper side=${other} origin=bought state=ready`);
  const batch = add("batch material=vinyl colour=black mass=80_kg");
  const press = add("press name=Press_1");
  const mounting = code(`mount ${press} --a ${stampers[0]} --b ${back} --counter 1000`, /\bM-\d+-[A-Z0-9]\b/);
  const test = add(`run order=${order} press=${press} purpose=test`);
  works_run(`press ${test} 3 --batch ${batch}`);
  const approval = code(`ticket ${test} 2`, /\bS-\d+-[A-Z0-9]\b/);
  works_run(`approve ${order} sent --ticket ${approval}`);
  works_run(`approve ${order} approved --ticket ${approval}`);
  const production = add(`run order=${order} press=${press}`);
  works_run(`press ${production} 100 --batch ${batch}`);
  works_run(`unmount ${mounting} --counter 1110`);
  works_run(`mount ${press} --a ${stampers[1]} --b ${back} --counter 1110 --reason stamper_changed`);
  works_run(`press ${production} 100 --batch ${batch}`);
  const played = [];
  const pull = (impression) => code(`ticket ${production} ${impression} --reason every_50th`, /\bS-\d+-[A-Z0-9]\b/);
  const play = (file, rate, seed, ...faults) =>
    promisify(execFile)(program, [
      ...["play", cut, "--out", file, "--format", "7in-45", "--pitch", "0.2mm", "--rate", rate, "--noise", "-62"],
      ...["--offset", "0.05mm", "--seed", String(seed)],
      ...faults.flatMap((fault) => ["--fault", fault]),
    ]);
  const captures = [
    [20, false],
    [70, false],
    [120, true],
    [150, true],
    [190, true],
  ].map(([impression, hurt], i) => {
    const ticket = pull(impression);
    const file = join(folder, "captures", `${ticket}_A.wav`);
    const faults = [`tick@${(1.5 + 1.3 * i).toFixed(1)}s,peak=-14`];
    if (hurt) faults.push(`pop@${fault_s}s,peak=-8`, "tick@10.1s,peak=-10");
    played.push(play(file, "48kHz", i + 1, ...faults));
    return { ticket, impression, file, hurt };
  });
  await Promise.all(played);
  /** Another disc, to be played at the bench: its ticket and what the cartridge gives. */
  const one_more = async (impression) => {
    const ticket = pull(impression),
      file = join(folder, "bench-play.wav");
    await play(file, "96kHz", 99, "tick@3.3s,peak=-14");
    return { ticket, file };
  };
  return { works, captures, one_more, title, side, order, production, stampers, mother };
}
