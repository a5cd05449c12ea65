import { useEffect, useState } from "preact/hooks";
import { api, type Counts } from "../api";
import { use_data, use_version } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { Ledger, place_words } from "../subjects/Subject";
import { count, instant, per_cent } from "../units";
import { asked, type LedgerCheck, type LedgerNow, type Movements, type Spot, written } from "./api";
import "./works.css";

const spot_words = (spot: Spot) =>
  [spot.place, spot.at, spot.reason && `(${spot.reason})`].filter(Boolean).join(" ");

/** Every disc pressed is in one place: the balance, what moved, and the record checked against its own log. */
export function LedgerView() {
  const { data, error, again } = use_data<LedgerNow>(asked.ledger);
  if (!data)
    return (
      <main id="main" tabIndex={-1} class="desk">
        {error ? <Problem error={error} again={again} /> : <Waiting what="the ledger" />}
      </main>
    );
  const places = Object.keys(place_words) as (keyof Counts)[];
  return (
    <main id="main" tabIndex={-1} class="desk by-hand">
      <header class="subject">
        <p class="what">Ledger</p>
        <h1>
          <Shape state={data.closes ? "good" : "out"} />{" "}
          {data.closes ? "The count closes" : "The count does not close"}
        </h1>
        <p class="counts">
          {count(data.impressions, "disc")} pressed, each in one place · head <code>{data.head}</code>
        </p>
      </header>
      <Ledger counts={data.counts} />
      <Check seq={data.seq} />
      <section aria-label="By order">
        <h2>By order</h2>
        <Table
          caption="Discs by order and place"
          hide_caption
          rows={data.orders}
          row_key={(one) => one.code}
          most={60}
          columns={[
            {
              head: "order",
              value: (one) => one.code,
              show: (one) => <a href={href("order", one.code)}>{one.code}</a>,
            },
            { head: "title", value: (one) => one.name },
            { head: "ordered", value: (one) => one.quantity, figure: true },
            { head: "made", value: (one) => one.impressions, figure: true },
            ...places.map((place) => ({
              head: place_words[place],
              value: (one: LedgerNow["orders"][number]) => one.counts[place],
              figure: true,
            })),
            {
              head: "closes",
              value: (one) => (one.closes ? "yes" : "no"),
              show: (one) => <StateWord state={one.closes ? "good" : "out"} words={one.closes ? "closes" : "open"} />,
            },
          ]}
        />
      </section>
      <Moves />
    </main>
  );
}

/** The whole record against its own log; it goes on beside the work. */
function Check({ seq }: { seq: number }) {
  const { session } = use_settings();
  const { zone } = use_settings();
  const { version } = use_version();
  const [check, set_check] = useState<LedgerCheck | null>(null),
    [problem, set_problem] = useState<string | null>(null),
    [turn, set_turn] = useState(0);
  const running = check?.state === "running";
  useEffect(() => {
    let gone = false;
    api.get<LedgerCheck>(asked.check).then(
      (now) => !gone && set_check(now),
      (error: unknown) => !gone && set_problem(String(error)),
    );
    const timer = running ? setTimeout(() => set_turn((n) => n + 1), 700) : undefined;
    return () => {
      gone = true;
      clearTimeout(timer);
    };
  }, [version, turn, running]);
  const begin = async () => {
    try {
      set_check(await api.post<LedgerCheck>(written.check));
      set_problem(null);
      set_turn((n) => n + 1);
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
    }
  };
  const result = check?.result;
  const older = result && Number(result.head.split(":")[0]) < seq;
  return (
    <section aria-label="Check">
      <h2>Check</h2>
      <p>
        <button
          type="button"
          class="main touch"
          disabled={running || !may(session, "station", "clerk", "engineer")}
          onClick={() => void begin()}
        >
          Check the record
        </button>{" "}
        {running && <progress value={check.share} aria-label="Checked so far" />}{" "}
        <span role="status">{running ? per_cent(check.share) : ""}</span>
      </p>
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
      {check?.error && <p class="problem">{check.error}</p>}
      {result && (
        <>
          <p class="counts" role="status">
            <StateWord
              state={result.closes ? "good" : "out"}
              words={result.closes ? "The record is what its log says" : "The record is not what its log says"}
            />
            {check?.ended_ms && `, ${instant(check.ended_ms, zone)}`}
            {check?.who && `, by ${check.who}`}
            {older && "; entries have come since"}
          </p>
          <p class="quiet">
            {count(result.entries, "entry", "entries")}, {count(result.rows, "row")},{" "}
            {count(result.movements, "movement")}, {count(result.runs, "run")},{" "}
            {count(result.impressions, "impression")}; head <code>{result.head}</code>: note it on paper and with backups
          </p>
          {result.breaks.length > 0 && (
            <ul class="reasons">
              {result.breaks.map((one) => (
                <li key={one}>{one}</li>
              ))}
              {result.more_breaks > 0 && <li>and {result.more_breaks} more</li>}
            </ul>
          )}
        </>
      )}
    </section>
  );
}

function Moves() {
  const { zone } = use_settings();
  const [before, set_before] = useState<(number | null)[]>([null]);
  const from = before[before.length - 1] ?? null;
  const { data, error, again } = use_data<Movements>(asked.movements(from, ""));
  return (
    <section aria-label="Movements">
      <h2>Movements</h2>
      {error && <Problem error={error} again={again} />}
      <Table
        caption="Movements, the newest first"
        hide_caption
        rows={data?.movements ?? []}
        row_key={(one) => one.id}
        columns={[
          { head: "when", value: (one) => one.at_ms, show: (one) => instant(one.at_ms, zone) },
          { head: "discs", value: (one) => one.quantity, figure: true },
          { head: "run", value: (one) => one.run, show: (one) => <a href={href("run", one.run)}>{one.run}</a> },
          {
            head: "impressions",
            value: (one) => one.impressions[0],
            show: (one) => one.impressions.join("–"),
            figure: true,
          },
          { head: "from", value: (one) => spot_words(one.from) },
          { head: "to", value: (one) => spot_words(one.to) },
          { head: "by", value: (one) => one.who },
          {
            head: "entry",
            value: (one) => one.entry,
            show: (one) => `${one.entry} ${one.what}${one.reverses ? ", taken back" : ""}`,
          },
        ]}
      />
      <p class="step">
        <button type="button" disabled={before.length < 2} onClick={() => set_before(before.slice(0, -1))}>
          Newer
        </button>
        <button
          type="button"
          disabled={!data?.next}
          onClick={() => data?.next && set_before([...before, data.next])}
        >
          Older
        </button>
      </p>
    </section>
  );
}
