import { useMemo, useRef } from "preact/hooks";
import type { Family } from "../api";
import type { RecurringFault } from "../contracts";
import { type_scale, use_width } from "../hooks";
import { Figure } from "../parts/Figure";
import { Table } from "../parts/Table";
import { round_scale, ticks } from "../scale";
import { capital, chance } from "../units";
import { type HeardThere, type Lane, lanes_of, levels, next_words, type Node, tree_of } from "./family";

const there_words: Record<HeardThere, string> = {
  fault: "fault heard",
  clean: "heard, without it",
  not_heard: "not heard there",
};

function ThereMark({ there, x, y, size }: { there: HeardThere; x: number; y: number; size: number }) {
  if (there === "fault")
    return <path class="there-fault" d={`M${x} ${y - size}l${size * 1.1} ${size * 1.9}h${-2.2 * size}Z`} />;
  return (
    <circle
      class={there === "clean" ? "there-clean" : "there-not"}
      cx={x}
      cy={y}
      r={there === "clean" ? size * 0.85 : size * 0.75}
    />
  );
}

export function HeardKey() {
  return (
    <p class="quiet heard-key">
      {(["fault", "clean", "not_heard"] as const).map((there) => (
        <span key={there}>
          <svg width="18" height="16" aria-hidden="true">
            <ThereMark there={there} x={9} y={8} size={6} />
          </svg>{" "}
          {there_words[there]}
        </span>
      ))}
    </p>
  );
}

/** The tree from the cut to the mountings: the chance that each one did it, and what lies below the cause in copper. */
export function TreePicture({ family, fault }: { family: Family; fault: RecurringFault }) {
  const holder = useRef<HTMLDivElement>(null),
    given = use_width(holder);
  const width = Math.max(given, 920);
  const tree = useMemo(() => tree_of(family, fault, 26), [family, fault]);
  const row = Math.min(44, Math.max(26, 560 / tree.rows)),
    top = 30,
    gap = 34;
  const cell = (width - 4 * gap - 4) / 5;
  const x_of = (level: number) => 2 + level * (cell + gap);
  const all: { node: Node; parent: Node | null }[] = [];
  const walk = (node: Node, parent: Node | null) => {
    all.push({ node, parent });
    for (const child of node.children) walk(child, node);
  };
  for (const root of tree.roots) walk(root, null);
  const place = (node: Node) => ({ x: x_of(levels.indexOf(node.level)), y: top + node.row * row });
  const tall = Math.min(32, row - 4);
  const numbers = all.map(({ node }) => node).filter((node) => node.left_out === 0);
  return (
    <Figure
      title="Which part did it"
      name={`family-${fault.id}`}
      note={
        <>
          Thick copper is the cause and what it touched; the bar in a box is the chance that this one did it; “3 of 5”
          means fault on 3 of 5 heard.
        </>
      }
      numbers={
        <Table
          caption="Parts with their chance"
          rows={numbers}
          row_key={(node) => `${node.level} ${node.id}`}
          columns={[
            { head: "level", value: (node) => node.level },
            { head: "part", value: (node) => node.id },
            { head: "chance, %", value: (node) => Math.round(node.share * 1000) / 10, figure: true },
            { head: "with the fault", value: (node) => node.faulty, figure: true },
            { head: "heard", value: (node) => node.heard, figure: true },
          ]}
        />
      }
    >
      <div
        ref={holder}
        class="wide"
        tabIndex={0}
        role="group"
        aria-label="Family tree, scrolls sideways on a narrow screen"
      >
        <svg
          role="img"
          viewBox={`0 0 ${width} ${top + tree.rows * row + 4}`}
          width={width * type_scale()}
          height={(top + tree.rows * row + 4) * type_scale()}
          aria-label={`Family tree: the likeliest cause is ${fault.cause.level} ${fault.cause.id ?? ""}, chance ${chance(fault.cause.posterior)}.`}
        >
          {levels.map((level, i) => (
            <text key={level} class="axis" x={x_of(i)} y={16}>
              {i > 1 ? `${level}s` : level}
            </text>
          ))}
          {[false, true].map((copper) =>
            all.map(({ node, parent }) => {
              if (!parent || node.below_cause !== copper) return null;
              const from = place(parent),
                to = place(node),
                turn = to.x - gap * 0.55;
              return (
                <path
                  key={`${node.level}${node.id}${node.left_out}-${copper}`}
                  class={copper ? "branch-copper" : "branch"}
                  d={`M${from.x + cell} ${from.y}H${turn}V${to.y}H${to.x}`}
                />
              );
            }),
          )}
          {all.map(({ node }) => {
            const { x, y } = place(node);
            if (node.left_out > 0)
              return (
                <text key={`out${x}${y}`} class="axis" x={x + 4} y={y + 4}>
                  and {node.left_out} more without it
                </text>
              );
            const counted = node.level !== "cut";
            const right = [
              node.share >= 0.005 ? chance(node.share) : "",
              counted && node.heard > 0 ? `${node.faulty} of ${node.heard}` : "",
            ]
              .filter(Boolean)
              .join("  ");
            return (
              <g key={`${node.level}${node.id}`}>
                <rect
                  class={node.is_cause ? "box-cause" : node.below_cause ? "box-below" : "box"}
                  x={x}
                  y={y - tall / 2}
                  width={cell}
                  height={tall}
                />
                {node.share >= 0.005 && (
                  <rect
                    class="box-share"
                    x={x}
                    y={y + tall / 2 - 4}
                    width={cell * Math.min(node.share, 1)}
                    height="4"
                  />
                )}
                {counted && (
                  <ThereMark
                    there={node.faulty > 0 ? "fault" : node.heard > 0 ? "clean" : "not_heard"}
                    x={x + 12}
                    y={y}
                    size={5.5}
                  />
                )}
                <text class={node.is_cause ? "name cause" : "name"} x={x + (counted ? 23 : 7)} y={y + 4.5}>
                  {shorten(node.id, (cell - (counted ? 28 : 12) - right.length * 7.2) / 7.6)}
                </text>
                <text class="name" x={x + cell - 6} y={y + 4.5} text-anchor="end">
                  {right}
                </text>
              </g>
            );
          })}
        </svg>
      </div>
      <HeardKey />
    </Figure>
  );
}

const shorten = (text: string, most: number) =>
  text.length <= most ? text : `${text.slice(0, Math.max(Math.floor(most) - 1, 3))}…`;

/** Marks of one lane, one a column of the picture: the worst that was heard in it. */
export function columns_of(lane: Lane, x: (impression: number) => number, wide: number) {
  const worst: HeardThere[] = ["not_heard", "clean", "fault"];
  const columns = new Map<number, { at: number; there: HeardThere; n: number }>();
  for (const mark of lane.marks) {
    const at = x((mark.low + mark.high) / 2),
      key = Math.round(at / wide);
    const known = columns.get(key);
    if (!known) columns.set(key, { at, there: mark.there, n: 1 });
    else {
      known.n += 1;
      if (worst.indexOf(mark.there) > worst.indexOf(known.there)) [known.there, known.at] = [mark.there, at];
    }
  }
  return [...columns.values()];
}

/** Impressions from left to right, a lane a stamper; the onset's interval in copper, the disc to fetch next marked. */
export function ImpressionStrip({ family, fault }: { family: Family; fault: RecurringFault }) {
  const holder = useRef<HTMLDivElement>(null),
    given = use_width(holder);
  const width = Math.max(given, 600);
  const strip = useMemo(() => lanes_of(family, fault), [family, fault]);
  const most = 24;
  const shown =
    strip.lanes.length <= most
      ? strip.lanes
      : strip.lanes.filter((lane) => lane.touched || lane.faulty > 0).slice(0, most);
  const lane_height = 40,
    top = 40,
    left = Math.min(180, width * 0.3),
    right = 16;
  const last = Math.max(strip.last, 10),
    marked = ticks(round_scale(0, last)).filter((value) => value <= last);
  const x = (impression: number) => left + ((width - left - right) * impression) / last;
  const floor = top + shown.length * lane_height;
  const onset = fault.cause.onset;
  const next = fault.next[0];
  const next_at =
    next?.impression == null
      ? family.discs.find((disc) => disc.id === next?.disc)?.impression
      : Array.isArray(next.impression)
        ? next.impression
        : [next.impression, next.impression];
  const words =
    onset === null
      ? "When it began cannot be told."
      : onset.low === onset.high
        ? `It begins at impression ${onset.best}.`
        : `It begins at impression ${onset.best}; 90\u2009% between ${onset.low} and ${onset.high}.`;
  const rows = useMemo(
    () => strip.lanes.flatMap((lane) => lane.marks.map((mark) => ({ ...mark, stamper: lane.stamper }))),
    [strip],
  );
  return (
    <Figure
      title="Since when"
      name={`impressions-${fault.id}`}
      note={`${words}${strip.unknown > 0 ? ` ${strip.unknown} discs of unknown impression are not drawn.` : ""}${shown.length < strip.lanes.length ? ` ${strip.lanes.length - shown.length} stampers without it are left out.` : ""}`}
      numbers={
        <Table
          caption="Discs by impression"
          rows={rows}
          row_key={(row) => row.disc.id}
          most={100}
          columns={[
            { head: "disc", value: (row) => row.disc.id },
            { head: "stamper", value: (row) => row.stamper },
            {
              head: "impression",
              value: (row) => row.low,
              show: (row) => (row.low === row.high ? row.low : `${row.low}–${row.high}`),
              figure: true,
            },
            { head: "heard", value: (row) => there_words[row.there] },
            {
              head: "report",
              value: (row) => row.disc.report,
              show: (row) =>
                row.disc.report && <a href={`/bench/${encodeURIComponent(row.disc.report)}`}>{row.disc.report}</a>,
            },
          ]}
        />
      }
    >
      <div
        ref={holder}
        class="wide"
        tabIndex={0}
        role="group"
        aria-label="Impressions, scrolls sideways on a narrow screen"
      >
        <svg
          role="img"
          viewBox={`0 0 ${width} ${floor + 48}`}
          width={width * type_scale()}
          height={(floor + 48) * type_scale()}
          aria-label={`Discs heard by impression. ${words} ${next ? `${next_words(next)}.` : ""}`}
        >
          {marked.map((value) => (
            <g key={value}>
              <line class="grid" x1={x(value)} x2={x(value)} y1={top} y2={floor} />
              <text class="tick" x={x(value)} y={floor + 27} text-anchor="middle">
                {value}
              </text>
            </g>
          ))}
          {onset && <rect class="onset-line" x={x(onset.best) - 1} y={top - 8} width="2" height={floor - top + 8} />}
          {onset && (
            <rect
              class="onset-line"
              x={x(onset.low) - 1}
              y={top - 8}
              width={Math.max(x(onset.high) - x(onset.low), 0) + 2}
              height="3"
            />
          )}
          {onset && (
            <text
              class="onset-text"
              x={Math.min(Math.max(x(onset.best), 90), width - 90)}
              y={top - 16}
              text-anchor="middle"
            >
              begins at {onset.best}
            </text>
          )}
          {shown.map((lane, i) => {
            const middle = top + (i + 0.5) * lane_height;
            return (
              <g key={lane.stamper}>
                {onset && lane.touched && (
                  <rect
                    class="onset-band"
                    x={x(onset.low) - 1.5}
                    y={top + i * lane_height}
                    width={x(onset.high) - x(onset.low) + 3}
                    height={lane_height}
                  />
                )}
                <line
                  class="grid"
                  x1={left}
                  x2={width - right}
                  y1={middle + lane_height / 2}
                  y2={middle + lane_height / 2}
                />
                {lane.pressed.map(([low, high]) => (
                  <rect
                    key={low}
                    class={lane.touched ? "pressed-touched" : "pressed"}
                    x={x(low)}
                    y={middle - 1.5}
                    width={Math.max(x(high) - x(low), 2)}
                    height="3"
                  />
                ))}
                <text class={lane.touched ? "name cause" : "name"} x={2} y={middle - 1}>
                  {shorten(lane.stamper, left / 8.4)}
                </text>
                <text class="tick" x={2} y={middle + 14}>
                  {lane.faulty} of {lane.heard} heard
                </text>
                {columns_of(lane, x, 9)
                  .sort((a, b) => Number(a.there === "fault") - Number(b.there === "fault"))
                  .map((mark) => (
                    <ThereMark key={mark.at} there={mark.there} x={mark.at} y={middle} size={6.5} />
                  ))}
              </g>
            );
          })}
          {fault.suspect.impressions.map(([low, high]) => (
            <rect
              key={low}
              class="suspect-bar"
              x={x(low)}
              y={floor - 1}
              width={Math.max(x(high) - x(low), 2)}
              height="5"
            />
          ))}
          {next_at && (
            <path
              class="next-arrow"
              d={`M${x((next_at[0] as number) / 2 + (next_at[1] as number) / 2)} ${floor + 5}l7 10h-4v8h-6v-8h-4Z`}
            />
          )}
          <text class="axis" x={left} y={floor + 42}>
            {capital("impression of the title")}; hatched bar: suspect; arrow: fetch next
          </text>
          <defs>
            <pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
              <rect width="2.4" height="6" class="hatch-ink" />
            </pattern>
          </defs>
        </svg>
      </div>
      <HeardKey />
    </Figure>
  );
}
