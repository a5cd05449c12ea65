// What a person at the bench is told while a side is recorded.
import type { Device, Recording } from "../api";
import { capital, clock_s, count } from "../units";

/** The meter's range in dB re full scale, and from where on it is too loud for a loud pop. */
export const meter_dB = { low: -60, high: 0, loud: -3 };

/** Where on the meter a level stands, 0 to 1. */
export function meter_share(level_dB: number): number {
  return Math.min(Math.max((level_dB - meter_dB.low) / (meter_dB.high - meter_dB.low), 0), 1);
}

export function is_live(one: Recording): boolean {
  return one.state === "settling" || one.state === "waiting" || one.state === "recording" || one.state === "finishing";
}

/** How long nothing may be heard of the groove before the side is at its end: as the server has it. */
const lifted_s = 10,
  lifted_after_the_cut_s = 3,
  told_after_s = 1.5;

/** What to do now, in one line. */
export function act_now(one: Recording): string {
  const side = `side ${one.letter} of ${one.title}`;
  switch (one.state) {
    case "settling":
      return "Keep the stylus up for a second";
    case "waiting":
      return one.false_starts > 0 ? `Nothing played yet: lower the stylus on ${side}` : `Lower the stylus on ${side}`;
    case "recording": {
      const of = one.programme_s === null ? "" : ` of ${clock_s(one.programme_s)}`;
      if (one.silent_s > told_after_s) {
        const over = one.programme_s !== null && one.recorded_s >= one.programme_s;
        const left_s = Math.max(Math.ceil((over ? lifted_after_the_cut_s : lifted_s) - one.silent_s), 0);
        return `The stylus is up: ends in ${left_s}\u2009s`;
      }
      return `Recording ${side}: ${clock_s(one.recorded_s)}${of}`;
    }
    case "finishing":
      return "Checking it and putting it into the queue";
    case "held":
      return `Not sent: ${side}`;
    case "sent":
      return `${capital(side)} recorded, ${clock_s(one.recorded_s)}`;
  }
}

/** What is wrong with the sound, as far as it is known now. */
export function warnings(one: Recording): string[] {
  const said: string[] = [];
  if (one.overruns_s.length > 0)
    said.push(
      `Sound was lost at ${one.overruns_s.slice(0, 5).map(clock_s).join(", ")}: this computer was too busy. Play the side again.`,
    );
  if (one.clipped > 0)
    said.push(`Too loud: ${count(one.clipped, "sample")} at full scale. Turn the input down and play the side again.`);
  if (one.state === "recording" && one.recorded_s > 15 && Math.max(...one.highest_dB) < -40)
    said.push("Very quiet: is the right input chosen, and its gain up?");
  return said;
}

export const ended_words: Record<NonNullable<Recording["ended"]>, string> = {
  lifted: "the stylus was lifted",
  "locked groove": "ended in the locked groove",
  "too long": "no end was found",
  "by hand": "ended by hand",
};

export function device_words(device: Device): string {
  return device.words ? `${device.words} (${device.name})` : device.name;
}

/** The side that comes when the disc is turned over; of D none. */
export function next_letter(letter: string): string | null {
  return letter >= "A" && letter < "D" ? String.fromCharCode(letter.charCodeAt(0) + 1) : null;
}
