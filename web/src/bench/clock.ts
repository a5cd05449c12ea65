import type { Fault, HeardSide } from "../contracts";

/** From capture time to the strip's time and back: programme time where the cut was found, else the capture's own. */
export interface Clock {
  of_capture: (capture_s: number) => number;
  to_capture: (time_s: number) => number;
  from_s: number;
  to_s: number;
  words: string;
}

export function clock_of(report: HeardSide): Clock {
  const start_s = report.programme_start_s,
    end_s = report.programme_end_s;
  if (report.alignment?.found && start_s !== null && end_s !== null && end_s > start_s) {
    const length_s = report.heard.reduce((most, [, to_s]) => Math.max(most, to_s), 0) || end_s - start_s;
    const rate = 1 + report.alignment.speed_error_ppm * 1e-6;
    return {
      of_capture: (capture_s) => (capture_s - start_s) * rate,
      to_capture: (time_s) => start_s + time_s / rate,
      from_s: Math.min(...report.faults.map((fault) => fault.programme_s ?? 0), 0),
      to_s: Math.max(length_s, ...report.faults.map((fault) => fault.programme_s ?? 0)),
      words: "programme time, min:s",
    };
  }
  return {
    of_capture: (s) => s,
    to_capture: (s) => s,
    from_s: 0,
    to_s: report.duration_s,
    words: "capture time, min:s",
  };
}

export const fault_time_s = (report: HeardSide, fault: Fault) =>
  report.alignment?.found ? (fault.programme_s ?? clock_of(report).of_capture(fault.capture_s)) : fault.capture_s;
