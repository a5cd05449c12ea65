import { useEffect, useMemo } from "preact/hooks";
import type { Disc } from "../api";
import { use_kept } from "../hooks";
import { use_data } from "../live";
import { home_of } from "../line/Line";
import { go } from "../router";
import { asked, type FlowGroup, type FlowNow } from "./api";
import "./works.css";

const page_of = (kind: string, code: string) => home_of({ kind, code, label: "", detail: "" });

/** The subject that one step leads to: backwards the nearest in the flow, forwards the next. */
export function one_step(groups: readonly FlowGroup[], way: "before" | "after"): string | null {
  const group = way === "before" ? groups[groups.length - 1] : groups[0];
  const thing = group?.things[0];
  return group && thing ? page_of(group.kind, thing.code) : null;
}

function Groups({ groups }: { groups: readonly FlowGroup[] }) {
  return (
    <>
      {groups.map((group) => (
        <span key={group.kind} class="flow-group">
          <span class="quiet">{group.kind}</span>{" "}
          {group.things.map((one) => (
            <a key={one.code} href={page_of(group.kind, one.code)} title={one.words}>
              {one.code}
            </a>
          ))}
          {group.count > group.things.length && <span class="quiet">and {group.count - group.things.length} more</span>}
        </span>
      ))}
    </>
  );
}

/** What comes before this in the trade's flow and what after it, one step away: by touch, or by the keys , and . */
export function FlowNav({ before, after }: { before: readonly FlowGroup[]; after: readonly FlowGroup[] }) {
  const [keys] = use_kept<"on" | "off">("keys", "on");
  useEffect(() => {
    if (keys === "off") return;
    const key = (event: KeyboardEvent) => {
      const on = event.target as HTMLElement | null;
      if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|SELECT|TEXTAREA)$/.test(on?.tagName ?? "")) return;
      const to =
        event.key === "," ? one_step(before, "before") : event.key === "." ? one_step(after, "after") : null;
      if (to) go(to);
    };
    addEventListener("keydown", key);
    return () => removeEventListener("keydown", key);
  }, [before, after, keys]);
  if (before.length + after.length === 0) return null;
  return (
    <nav class="flow" aria-label="Before and after in the flow">
      {before.length > 0 && (
        <p>
          <b>← Before</b> <kbd>,</kbd> <Groups groups={before} />
        </p>
      )}
      {after.length > 0 && (
        <p>
          <b>After →</b> <kbd>.</kbd> <Groups groups={after} />
        </p>
      )}
    </nav>
  );
}

const none: FlowGroup[] = [];

export function Flow({ code }: { code: string }) {
  const { data } = use_data<FlowNow>(asked.flow(code));
  return <FlowNav before={data?.before ?? none} after={data?.after ?? none} />;
}

/** A disc has no code of its own: it comes from its run and mounting, and lies in what its place names. */
export function DiscFlow({ disc }: { disc: Disc }) {
  const { before, after } = useMemo(() => {
    const group = (kind: string, codes: string[]): FlowGroup[] =>
      codes.length === 0 ? [] : [{ kind, count: codes.length, things: codes.map((code) => ({ code, words: kind })) }];
    const tickets = disc.tickets.map((one) => one.code);
    const spots = [...new Set(disc.now.flatMap((one) => (one.at && !tickets.includes(one.at) ? [one.at] : [])))];
    return {
      before: [
        ...group("part", [disc.side_a[0], disc.side_b[0]].flatMap((one) => (one ? [one.code] : []))),
        ...group("mounting", disc.mounting ? [disc.mounting.code] : []),
        ...group("run", [disc.run.code]),
      ],
      after: [...group("ticket", tickets), ...group("where it lies", spots)],
    };
  }, [disc]);
  return <FlowNav before={before} after={after} />;
}
