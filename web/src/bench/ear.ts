// The listener's ear beside the engine's: what each fault was said of, and taps while it plays.
import type { Opinion } from "../api";
import type { Fault, FaultKind } from "../contracts";

export const fault_kinds: readonly FaultKind[] = ["tick", "pop", "burst", "dropout", "jump", "repeat", "clip"];

/** How long a hand is behind a sound; from memory, no source. */
export const reaction_s = 0.2;
/** A tap belongs to a fault of the engine's that lies so near to where it points. */
export const same_s = 0.6;

export interface Tap {
  capture_s: number;
  kind: FaultKind;
  /** The engine's fault that was meant, if one lies there. */
  fault: number | null;
}

/** A tap at a moment of the capture: the nearest fault of the engine's is meant, or it is one of the listener's own. */
export function tap_at(heard_s: number, faults: readonly Fault[]): Tap {
  const capture_s = Math.max(heard_s - reaction_s, 0);
  let meant: Fault | null = null,
    least = same_s;
  for (const fault of faults) {
    const away = Math.abs(fault.capture_s - capture_s);
    if (away < least) [meant, least] = [fault, away];
  }
  return meant
    ? { capture_s: meant.capture_s, kind: meant.kind, fault: meant.id }
    : { capture_s, kind: "tick", fault: null };
}

/** The newest word on each fault by one listener, or by all where none is named. */
export function said_of(opinions: readonly Opinion[], who: string | null): Map<number, Opinion> {
  const result = new Map<number, Opinion>();
  for (const opinion of [...opinions].sort((a, b) => a.at_ms - b.at_ms))
    if (opinion.fault !== null && (who === null || opinion.who === who)) result.set(opinion.fault, opinion);
  return result;
}

/** The newest word on the verdict as a whole by one listener. */
export function said_of_verdict(opinions: readonly Opinion[], who: string): Opinion | undefined {
  return [...opinions]
    .sort((a, b) => b.at_ms - a.at_ms)
    .find((one) => one.who === who && one.fault === null && one.opinion !== "added");
}

export function ear_words(opinion: Opinion | undefined): string {
  if (!opinion) return "–";
  return opinion.opinion === "agree" ? "agreed" : opinion.opinion === "disagree" ? "disagreed" : "added";
}
