import { useEffect, useState } from "preact/hooks";
import { clock_ms, count } from "../units";
import { fault_kinds, type Tap } from "./ear";

const key = (report: string) => `goodside.taps.${report}`;

function read(report: string): Tap[] {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(key(report)) ?? "[]");
    return Array.isArray(kept)
      ? kept.filter((one): one is Tap => typeof (one as Tap | null)?.capture_s === "number")
      : [];
  } catch {
    return [];
  }
}

/** Taps that are not yet entered outlive a look at another page. */
export function use_taps(report: string): [Tap[], (change: (before: Tap[]) => Tap[]) => void] {
  const [taps, set_taps] = useState<Tap[]>(() => read(report));
  useEffect(() => {
    try {
      if (taps.length > 0) localStorage.setItem(key(report), JSON.stringify(taps));
      else localStorage.removeItem(key(report));
    } catch {
      // A browser that keeps nothing: the taps last as long as the page.
    }
  }, [taps]);
  return [taps, set_taps];
}

/** What was tapped and is not yet entered: a slip is dropped here, since an entry of the record stays. */
export function Taps(props: {
  taps: readonly Tap[];
  set_taps: (change: (before: Tap[]) => Tap[]) => void;
  keep: () => void;
}) {
  const { taps, set_taps } = props;
  if (taps.length === 0) return null;
  const change = (i: number, tap: Tap | null) =>
    set_taps((before) => before.flatMap((one, j) => (i !== j ? [one] : tap ? [tap] : [])));
  return (
    <section aria-label="Tapped">
      <h2>Tapped, not yet kept</h2>
      <ul class="taps">
        {taps.map((one, i) => (
          <li key={`${one.capture_s}-${i}`}>
            {clock_ms(one.capture_s)} of the capture{" "}
            {one.fault === null ? (
              <select
                aria-label="Kind of fault"
                value={one.kind}
                onChange={(event) => change(i, { ...one, kind: event.currentTarget.value as Tap["kind"] })}
              >
                {fault_kinds.map((kind) => (
                  <option key={kind}>{kind}</option>
                ))}
              </select>
            ) : (
              <span>the engine's {one.kind}: counts as agreed</span>
            )}{" "}
            <button type="button" class="quiet" onClick={() => change(i, null)}>
              Drop
            </button>
          </li>
        ))}
      </ul>
      <p>
        <button type="button" class="main" onClick={props.keep}>
          Keep {count(taps.length, "tap")}
        </button>
      </p>
    </section>
  );
}
