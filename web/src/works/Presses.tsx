import { useState } from "preact/hooks";
import { use_kept } from "../hooks";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape } from "../parts/State";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { count, instant } from "../units";
import { Caution, Field, figure, Keypad, Paper, Told, use_act, whole } from "./act";
import { asked, type Entered, type Presses as Now, type PressNow, written } from "./api";

/** The presses as they stand: what is mounted, what the counter says, and the run; one of them is worked at. */
export function Presses({ press: given }: { press: string | null }) {
  const { data, error, again } = use_data<Now>(asked.presses);
  const [kept, keep] = use_kept<string>("press", "");
  if (error)
    return (
      <main id="main" tabIndex={-1} class="desk">
        <Problem error={error} again={again} />
      </main>
    );
  if (!data)
    return (
      <main id="main" tabIndex={-1} class="desk">
        <Waiting what="the presses" />
      </main>
    );
  const chosen = data.presses.find((one) => one.code === (given ?? kept)) ?? data.presses[0];
  const mounted = data.presses.filter((one) => one.mounting !== null).length;
  return (
    <main id="main" tabIndex={-1} class="desk by-hand at-bench">
      <header class="subject">
        <p class="what">Press</p>
        <h1>
          {mounted} of {count(data.presses.length, "press", "presses")} mounted
        </h1>
      </header>
      {data.presses.length === 0 && <p class="quiet">No press is in the record yet.</p>}
      <ul class="presses" aria-label="Presses">
        {data.presses.map((one) => (
          <li key={one.code}>
            <button
              type="button"
              class="press-card"
              aria-pressed={chosen?.code === one.code}
              onClick={() => keep(one.code)}
            >
              <b>
                <Shape state={one.mounting ? "good" : "unknown"} /> {one.name}
              </b>
              <span class="big-count">{one.mounting ? figure(one.mounting.counter) : "–"}</span>
              <span class="quiet">
                {one.mounting
                  ? `counter now · ${count(one.mounting.closings, "closing")} on this mounting`
                  : "nothing mounted"}
              </span>
              {one.runs[0] ? (
                <span class="quiet">
                  {one.runs[0].name}, <span class="code">{one.runs[0].code}</span>
                </span>
              ) : (
                <span class="quiet">no open run</span>
              )}
            </button>
          </li>
        ))}
      </ul>
      {chosen && <PressDesk key={chosen.code} press={chosen} now={data} />}
    </main>
  );
}

function PressDesk({ press, now }: { press: PressNow; now: Now }) {
  const { session, zone } = use_settings();
  const allowed = may(session, "station", "engineer");
  const { mounting } = press;
  return (
    <section class="press-desk" aria-label={press.name}>
      <h2>
        <a href={href("thing", press.code)}>{press.name}</a>
      </h2>
      <Caution text={now.caution} />
      {mounting ? (
        <dl class="figures">
          <dt>Mounted</dt>
          <dd>
            <a href={href("thing", mounting.code)}>{mounting.code}</a>
            {mounting.begun_ms !== null && `, since ${instant(mounting.begun_ms, zone)}`}
            {mounting.reason && `, ${mounting.reason}`}
          </dd>
          <dt>Stampers</dt>
          <dd>
            {[mounting.stamper_a, mounting.stamper_b].map((part, i) =>
              part ? (
                <span key={part}>
                  {i === 0 ? "A " : " B "}
                  <a href={href("part", part)}>{part}</a>{" "}
                </span>
              ) : null,
            )}
          </dd>
          <dt>Counter</dt>
          <dd>
            {figure(mounting.counter)}, mounted at {figure(mounting.counter_from)}
          </dd>
        </dl>
      ) : (
        <p>Nothing is mounted.</p>
      )}
      {!allowed && <p class="quiet">Counts are entered by a station or an engineer; you may look.</p>}
      {allowed && mounting && <CountRun press={press} now={now} />}
      {allowed && (mounting ? <Unmount press={press} /> : <Mount press={press} now={now} />)}
    </section>
  );
}

/** What the counter says is typed; how many discs that were follows from it. Samples are pulled here too. */
function CountRun({ press, now }: { press: PressNow; now: Now }) {
  const act = use_act();
  const [run, set_run] = useState(press.runs[0]?.code ?? "");
  const [counter, set_counter] = useState("");
  const [purpose, set_purpose] = useState("run");
  const [other_batch, set_batch] = useState<string | null>(null),
    [spindle, set_spindle] = useState("");
  const [reason, set_reason] = useState("every 50th");
  const [ticket, set_ticket] = useState<string | null>(null);
  const chosen = press.runs.find((one) => one.code === run) ?? press.runs[0];
  if (!chosen)
    return (
      <p>
        No open run is on this press.{" "}
        <a class="touch" href={`/enter/run?press=${encodeURIComponent(press.code)}`}>
          Enter a run on it
        </a>
      </p>
    );
  const batch = other_batch ?? chosen.batch ?? "";
  const take_run = (code: string) => {
    set_run(code);
    set_batch(null);
  };
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    const made = await act.send<Entered & { impressions: [number, number] }>(
      written.press(chosen.code),
      {
        counter: whole(counter),
        purpose,
        ...(batch ? { batch } : {}),
        ...(spindle && purpose === "run" ? { spindle } : {}),
      },
      ({ impressions: [first, last] }) =>
        `${count(last - first + 1, "disc")} entered: impressions ${first} to ${last}${purpose === "run" ? "" : `, ${purpose}, to scrap`}.`,
    );
    if (made) set_counter("");
  };
  const pull = async () => {
    const made = await act.send<Entered & { impressions: [number, number]; held: number }>(
      written.ticket(chosen.code),
      { reason, ...(spindle ? { spindle } : {}) },
      ({ code, impressions, held }) =>
        `Ticket ${code} for disc ${impressions[0]}; ${count(held, "disc")} suspect until it is heard.`,
    );
    if (made?.code) set_ticket(made.code);
  };
  return (
    <form class="press-count" onSubmit={(event) => void enter(event)} aria-label="Enter the count">
      <Keypad label="The counter reads now" id="counter" value={counter} set={set_counter} />
      <div class="sheet-form">
        <Field label="Run">
          <select value={chosen.code} onChange={(event) => take_run(event.currentTarget.value)}>
            {press.runs.map((one) => (
              <option key={one.code} value={one.code}>
                {one.code} {one.purpose} · {one.name}
              </option>
            ))}
          </select>
        </Field>
        <p>
          <a href={href("run", chosen.code)}>{chosen.code}</a> has made {count(chosen.impressions, "impression")}; order{" "}
          <a href={href("order", chosen.order)}>{chosen.order}</a> is for {count(chosen.quantity, "disc")}.
        </p>
        <fieldset class="touch-choices">
          <legend>These were</legend>
          {["run", "warm up", "purge"].map((one) => (
            <label key={one} class="touch-choice">
              <input type="radio" name="purpose" checked={purpose === one} onChange={() => set_purpose(one)} />{" "}
              {one === "run" ? "Discs" : one === "warm up" ? "Warm-up" : "Purge"}
            </label>
          ))}
        </fieldset>
        <div class="place-row">
          <Field label="Compound">
            <select value={batch} onChange={(event) => set_batch(event.currentTarget.value)}>
              <option value="">not told</option>
              {now.batches.map((one) => (
                <option key={one.code} value={one.code}>
                  {one.code} {one.words}
                </option>
              ))}
            </select>
          </Field>
          <Field label="Onto spindle">
            <select value={spindle} onChange={(event) => set_spindle(event.currentTarget.value)}>
              <option value="">none</option>
              {now.spindles.map((one) => (
                <option key={one.code} value={one.code}>
                  {one.words || one.code} ({one.code})
                </option>
              ))}
            </select>
          </Field>
        </div>
        <button type="submit" class="main touch" disabled={act.busy || whole(counter) === null}>
          Enter counter {counter || "…"}
        </button>
        <Told act={act} />
        <div class="sample">
          <Field label="A sample, because">
            <input value={reason} onInput={(event) => set_reason(event.currentTarget.value)} />
          </Field>
          <button
            type="button"
            class="touch"
            disabled={act.busy || chosen.impressions === 0}
            onClick={() => void pull()}
          >
            Pull the disc just pressed
          </button>
          {ticket && (
            <Paper href={asked.label(ticket)} svg={asked.label(ticket, "svg")}>
              Print ticket {ticket}
            </Paper>
          )}
        </div>
        <Paper href={asked.paper("traveller", chosen.code)}>Traveller of the run</Paper>
      </div>
    </form>
  );
}

function Unmount({ press }: { press: PressNow }) {
  const act = use_act();
  const { mounting } = press;
  const [counter, set_counter] = useState(String(mounting?.counter ?? "")),
    [reason, set_reason] = useState("");
  if (!mounting) return null;
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    await act.send(
      written.unmount(mounting.code),
      { counter: whole(counter), reason },
      () => `${mounting.code} is off; its stampers rest.`,
    );
  };
  return (
    <details>
      <summary>Take the stampers off</summary>
      <form class="fields" onSubmit={(event) => void enter(event)}>
        <Field label="Counter reads">
          <input
            inputMode="numeric"
            required
            value={counter}
            onInput={(event) => set_counter(event.currentTarget.value)}
          />
        </Field>
        <Field label="Why they come off">
          <input required value={reason} onInput={(event) => set_reason(event.currentTarget.value)} />
        </Field>
        <button type="submit" class="touch" disabled={act.busy || whole(counter) === null}>
          Take {mounting.code} off
        </button>
        <Told act={act} />
      </form>
    </details>
  );
}

function Mount({ press, now }: { press: PressNow; now: Now }) {
  const act = use_act();
  const [a, set_a] = useState(""),
    [b, set_b] = useState(""),
    [counter, set_counter] = useState(""),
    [reason, set_reason] = useState("new order");
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    await act.send(
      written.mount(press.code),
      { counter: whole(counter), reason, ...(a ? { a } : {}), ...(b ? { b } : {}) },
      (made) => `${made.code} is on ${press.name}.`,
    );
  };
  const stamper = (label: string, value: string, set: (value: string) => void) => (
    <Field label={label}>
      <select value={value} onChange={(event) => set(event.currentTarget.value)}>
        <option value="">none</option>
        {now.ready.map((one) => (
          <option key={one.code} value={one.code}>
            {one.code} side {one.letter} · {one.name}
          </option>
        ))}
      </select>
    </Field>
  );
  return (
    <form class="sheet-form" onSubmit={(event) => void enter(event)} aria-label="Mount stampers">
      <h3>Mount stampers</h3>
      {now.ready.length === 0 && <p class="quiet">No stamper is ready or resting.</p>}
      <div class="fields">
        {stamper("Top, side A", a, set_a)}
        {stamper("Bottom, side B", b, set_b)}
      </div>
      <Keypad label="The counter reads" id="counter" value={counter} set={set_counter} />
      <Field label="Why">
        <input value={reason} onInput={(event) => set_reason(event.currentTarget.value)} />
      </Field>
      <button type="submit" class="main touch" disabled={act.busy || whole(counter) === null || (!a && !b)}>
        Mount on {press.name}
      </button>
      <Told act={act} />
    </form>
  );
}
