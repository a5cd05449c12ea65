import { useState } from "preact/hooks";
import { api, type Family, path, type Run, type Side, type Title, type Trace } from "../api";
import type { RecurringFault } from "../contracts";
import { tell_changed, use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { go, href, use_place } from "../router";
import { may, use_settings } from "../settings";
import { capital, chance, clock_ms, count, degrees, fixed, instant, radius, text_of } from "../units";
import { belief, cause_words, fault_name, next_words, ranges_words, since_words } from "./family";
import { ImpressionStrip, TreePicture } from "./pictures";

export function TraceView({ side: code }: { side: string }) {
  const side = use_data<Side>(path.side(code));
  const trace = use_data<Trace>(path.trace(code));
  const family = use_data<Family>(path.family(code));
  const { query } = use_place();
  const error = trace.error ?? side.error ?? family.error;
  const faults = trace.data?.trace?.recurring ?? [];
  const chosen = faults.find((fault) => String(fault.id) === query.get("fault")) ?? faults[0] ?? null;
  const title = side.data ? text_of(side.data.title.name) : "";
  const choose = (fault: RecurringFault) => go(`${href("trace", code)}?fault=${fault.id}`, true);
  return (
    <main id="main" tabIndex={-1} class="desk trace">
      <header class="subject">
        <p class="what">
          {side.data && (
            <>
              <a href={href("title", side.data.title.code)}>{title}</a> ·{" "}
              <a href={href("side", code)}>side {text_of(side.data.side.letter)}</a> · {count(side.data.plays, "play")}{" "}
              heard
            </>
          )}
        </p>
        <h1>{headline(trace.data, faults, chosen)}</h1>
        {chosen && (
          <p class="counts">
            Chance of the cause {belief(chosen.cause)} · on {chosen.on.length} of {chosen.heard} discs heard there
            {chosen.not_heard && chosen.not_heard.length > 0 && (
              <>, {count(chosen.not_heard.length, "more disc")} heard elsewhere only</>
            )}{" "}
            ·
            chance that it is coincidence {chance(chosen.chance)}
          </p>
        )}
        {trace.data && <TraceState trace={trace.data} />}
      </header>
      {error && <Problem error={error} again={trace.again} />}
      {!trace.data && !error && <Waiting what="the trace" />}
      {chosen && family.data && (
        <>
          <div class="columns">
            <section aria-label="What to do next">
              <h2>What to do next</h2>
              <NextAndAction fault={chosen} title={side.data?.title.code ?? null} />
            </section>
            <section aria-label="Why">
              <h2>Why</h2>
              <p>
                <b>{capital(cause_words(chosen.cause))}</b> {since_words(chosen.cause)}.
              </p>
              <Alternatives fault={chosen} />
            </section>
          </div>
          <ImpressionStrip family={family.data} fault={chosen} />
          <TreePicture family={family.data} fault={chosen} />
        </>
      )}
      {faults.length > 0 && (
        <section aria-label="Recurring faults">
          <h2>Recurring faults</h2>
          <Recurring faults={faults} chosen={chosen} choose={choose} />
        </section>
      )}
      {side.data && <Holds title={side.data.title.code} />}
      {(trace.data?.trace?.refused.length ?? 0) > 0 && (
        <section aria-label="Put aside">
          <h2>Put aside, the rest is traced</h2>
          <ul class="quiet-list">
            {trace.data?.trace?.refused.map((one) => (
              <li key={one.what + one.why}>
                {one.what}: {one.why}
              </li>
            ))}
          </ul>
        </section>
      )}
      {!chosen?.action.caution && (
        <p class="caution">
          Stop the press, lock it off and let mould and stamper cool before hands go near; wear gloves on metal; play a
          mother once, lightly. Your works' own rules and your local code come first.
        </p>
      )}
    </main>
  );
}

function headline(trace: Trace | null, faults: readonly RecurringFault[], chosen: RecurringFault | null) {
  if (!trace) return "Trace";
  if (trace.state === "nothing heard")
    return (
      <>
        <Shape state="unknown" /> Nothing heard yet
      </>
    );
  if (!trace.trace)
    return (
      <>
        <Shape state="unknown" /> {trace.state === "failed" ? "The trace failed" : "The trace is being made"}
      </>
    );
  if (faults.length === 0 || !chosen)
    return (
      <>
        <Shape state="good" /> No fault recurs
      </>
    );
  return (
    <>
      <Shape state={chosen.open ? "out" : "good"} /> {fault_name(chosen)}: {sure(chosen) ? "" : "perhaps "}
      {cause_words(chosen.cause)}
      {chosen.open ? "" : ", over"}
    </>
  );
}

/** Below this the headline says perhaps. */
const sure = (fault: RecurringFault) => Math.max(fault.cause.posterior, fault.cause.posterior_with_same ?? 0) >= 0.8;

function TraceState({ trace }: { trace: Trace }) {
  if (trace.state === "current")
    return (
      <p class="quiet">
        Made from the record as it stands{trace.as_of_seq === null ? "" : `, entry ${trace.as_of_seq}`}.
      </p>
    );
  if (trace.state === "stale")
    return (
      <p class="quiet" role="status">
        Made from entry {trace.as_of_seq}; a newer one is being made.
      </p>
    );
  if (trace.state === "making")
    return (
      <p class="quiet" role="status">
        Being made …
      </p>
    );
  if (trace.state === "failed")
    return (
      <p class="problem" role="alert">
        {trace.error ?? "It could not be made."}
      </p>
    );
  return (
    <p class="quiet">
      Bring captures at the <a href="/bench">bench</a>.
    </p>
  );
}

function Recurring(props: {
  faults: readonly RecurringFault[];
  chosen: RecurringFault | null;
  choose: (fault: RecurringFault) => void;
}) {
  const { system } = use_settings();
  return (
    <Table
      caption="Recurring faults, worst first"
      hide_caption
      rows={props.faults}
      row_key={(fault) => fault.id}
      chosen={props.chosen?.id ?? null}
      on_choose={props.choose}
      choose_words={fault_name}
      columns={[
        { head: "fault", value: fault_name },
        {
          head: "time",
          value: (fault) => fault.programme_s,
          show: (fault) => clock_ms(fault.programme_s),
          figure: true,
        },
        {
          head: "angle",
          value: (fault) => fault.angle_deg ?? null,
          show: (fault) => degrees(fault.angle_deg),
          figure: true,
        },
        {
          head: "radius",
          value: (fault) => fault.radius_m ?? null,
          show: (fault) => radius(fault.radius_m, system),
          figure: true,
        },
        {
          head: "on",
          value: (fault) => fault.on.length,
          show: (fault) => `${fault.on.length} of ${fault.heard}`,
          figure: true,
        },
        { head: "cause", value: (fault) => cause_words(fault.cause) },
        { head: "chance", value: (fault) => fault.cause.posterior, show: (fault) => belief(fault.cause), figure: true },
        { head: "since", value: (fault) => fault.cause.onset?.best ?? null, figure: true },
        { head: "suspect discs", value: (fault) => fault.suspect.discs, figure: true },
        {
          head: "state",
          value: (fault) => (fault.open ? "open" : "over"),
          show: (fault) => <StateWord state={fault.open ? "out" : "good"} words={fault.open ? "open" : "over"} />,
        },
      ]}
    />
  );
}

function Alternatives({ fault }: { fault: RecurringFault }) {
  const likely = fault.alternatives.filter((one) => one.posterior >= 0.005);
  const same = fault.cause.same_discs ?? [];
  return (
    <>
      {same.length > 0 && (
        <p class="quiet">
          No hearing tells it from {same.join(", ")}: they touched the same discs. Together{" "}
          {chance(fault.cause.posterior_with_same ?? fault.cause.posterior)}.
        </p>
      )}
      {likely.length === 0 ? (
        <p class="quiet">No other cause reaches half a per cent.</p>
      ) : (
        <ul>
          {likely.slice(0, 5).map((one) => (
            <li key={`${one.level} ${one.id}`}>
              {belief(one)} {cause_words(one)} {since_words(one)}
            </li>
          ))}
        </ul>
      )}
    </>
  );
}

/** The disc to fetch, the remedy, and the one action that quarantines. */
function NextAndAction({ fault, title }: { fault: RecurringFault; title: string | null }) {
  const { session } = use_settings();
  const [done, set_done] = useState<{ entry: number; words: string } | null>(null);
  const [problem, set_problem] = useState<string | null>(null);
  const [busy, set_busy] = useState(false);
  const next = fault.next[0];
  const ranges = fault.suspect.impressions;
  const act = async (what: () => Promise<void>) => {
    set_busy(true);
    set_problem(null);
    try {
      await what();
      tell_changed();
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
    }
    set_busy(false);
  };
  const hold = () =>
    act(async () => {
      const made = await api.post<{ entry: number; discs: number; shipped: number }>("/api/holds", {
        title,
        impressions: ranges,
        reason: `${fault_name(fault)}: ${cause_words(fault.cause)}`,
      });
      set_done({
        entry: made.entry,
        words: `${count(made.discs, "disc")} held${made.shipped > 0 ? `; ${made.shipped} of the range have been shipped and cannot be held` : ""}.`,
      });
    });
  const undo = () =>
    act(async () => {
      await api.post(`/api/holds/${done?.entry}/undo`, { reason: `taken back at the trace: ${fault_name(fault)}` });
      set_done(null);
    });
  return (
    <>
      {next ? (
        <p class="next">
          <b>{next_words(next)}</b>
          {next.where ? `: ${next.where}` : ""}.{" "}
          <span class="quiet">
            About {fixed(next.minutes, 0)} min
            {fault.hearings_needed ? `; some ${fixed(fault.hearings_needed, 0)} hearings until the onset is known` : ""}
            .
          </span>
        </p>
      ) : (
        <p>Nothing more needs to be heard.</p>
      )}
      {next?.caution && next.caution !== fault.action.caution && <p class="caution">{next.caution}</p>}
      <p>
        <b>Then:</b> {fault.action.text}.
      </p>
      {fault.action.caution && <p class="caution">{fault.action.caution}</p>}
      {ranges.length > 0 && (
        <>
          <p>
            Suspect: impressions {ranges_words(ranges)}, {count(fault.suspect.discs, "disc")}, of which{" "}
            {fixed(fault.suspect.flawed, 0)} are expected to have it
            {fault.suspect.cartons.length > 0 &&
              `; ${fault.suspect.cartons.every((one) => one.includes(" ")) ? "stock" : "cartons"} ${fault.suspect.cartons.slice(0, 8).join(", ")}${fault.suspect.cartons.length > 8 ? " …" : ""}`}
            .
          </p>
          {!done ? (
            <p>
              <button
                type="button"
                class="main"
                disabled={busy || title === null || !may(session, "station", "engineer")}
                onClick={() => void hold()}
              >
                Hold impressions {ranges_words(ranges.slice(0, 3))}
                {ranges.length > 3 ? " …" : ""}
              </button>
              {!may(session, "station", "engineer") && (
                <span class="quiet"> needs the role of station or engineer</span>
              )}
            </p>
          ) : (
            <p role="status">
              <StateWord state="suspect" words={done.words} /> <span class="quiet">Entry {done.entry}.</span>{" "}
              <button type="button" disabled={busy || !may(session, "engineer")} onClick={() => void undo()}>
                Take back the hold
              </button>
            </p>
          )}
        </>
      )}
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
    </>
  );
}

/** Holds that stand on the title's runs, each with the action that undoes it. */
function Holds({ title }: { title: string }) {
  const data = use_data<Title>(path.title(title));
  const held = (data.data?.runs ?? []).filter((one) => one.counts.suspect > 0).slice(0, 8);
  if (held.length === 0) return null;
  return (
    <section aria-label="Held now">
      <h2>Held now</h2>
      <ul class="jobs">
        {held.map((one) => (
          <RunHolds key={one.run.code} run={one.run.code} suspect={one.counts.suspect} />
        ))}
      </ul>
    </section>
  );
}

export function RunHolds({ run, suspect }: { run: string; suspect: number }) {
  const { session, zone } = use_settings();
  const data = use_data<Run>(path.run(run));
  const [problem, set_problem] = useState<string | null>(null);
  const undo = async (entry: number) => {
    try {
      await api.post(`/api/holds/${entry}/undo`, { reason: "taken back at the board" });
      set_problem(null);
      tell_changed();
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <li>
      <StateWord state="suspect" words={`${count(suspect, "disc")} of run`} /> <a href={href("run", run)}>{run}</a>
      {(data.data?.holds ?? []).map((hold) => (
        <span key={hold.entry}>
          held by {hold.who}, {instant(hold.at_ms, zone)}, entry {hold.entry}{" "}
          <button type="button" disabled={!may(session, "engineer")} onClick={() => void undo(hold.entry)}>
            Take back hold {hold.entry}
          </button>
        </span>
      ))}
      {problem && (
        <span class="error" role="alert">
          {problem}
        </span>
      )}
    </li>
  );
}
