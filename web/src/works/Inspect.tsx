import { useEffect, useRef, useState } from "preact/hooks";
import { use_kept } from "../hooks";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { capital, count } from "../units";
import { type Act, Caution, Field, Told, use_act, whole } from "./act";
import { use_scans } from "./scanner";
import { asked, type Entered, type InspectionTable, type Stack, written } from "./api";

/** One key of a keyboard for each reason, in the order of the record. */
const shortcuts = "1234567890qwertzuiop";
const stack_key = (one: Stack) => `${one.run} ${one.spindle ?? ""}`;
const stack_words = (one: Stack) =>
  one.spindle ? `Spindle ${one.spindle_name ?? one.spindle}` : "On no spindle";

/** The table where discs are looked at: a stack, a large key for each reason, and the rest are good. */
export function Inspect() {
  const { data, error, again } = use_data<InspectionTable>(asked.inspection);
  const [chosen, choose] = useState<string | null>(null);
  // Kept here: what was said of a stack is read after it is gone from the table.
  const act = use_act();
  if (!data)
    return (
      <main id="main" tabIndex={-1} class="desk">
        {error ? <Problem error={error} again={again} /> : <Waiting what="the inspection table" />}
      </main>
    );
  const stack = data.stacks.find((one) => stack_key(one) === chosen) ?? (data.stacks.length === 1 ? data.stacks[0] : undefined);
  const scanned = (text: string) => {
    const found = data.stacks.find((one) => [one.spindle, one.run].includes(text.trim().toUpperCase()));
    if (found) choose(stack_key(found));
    return found !== undefined;
  };
  const waiting = data.stacks.reduce((sum, one) => sum + one.discs, 0);
  return (
    <main id="main" tabIndex={-1} class="desk by-hand at-bench">
      <header class="subject">
        <p class="what">Store · inspection table</p>
        <h1>{count(waiting, "disc")} to be looked at</h1>
      </header>
      <ul class="stacks" aria-label="Stacks">
        {data.stacks.map((one) => (
          <li key={stack_key(one)}>
            <button
              type="button"
              class="press-card"
              aria-pressed={stack !== undefined && stack_key(one) === stack_key(stack)}
              onClick={() => choose(stack_key(one))}
            >
              <b>{stack_words(one)}</b>
              <span class="big-count">{one.discs}</span>
              <span class="quiet">
                {one.name}, <span class="code">{one.run}</span>
              </span>
              {one.inspection && <span class="quiet">{count(one.inspection.rejected, "disc")} taken off</span>}
            </button>
          </li>
        ))}
      </ul>
      {data.stacks.length === 0 && <p>Nothing waits: what is pressed was looked at.</p>}
      {stack ? (
        <Table key={stack_key(stack)} stack={stack} reasons={data.reasons} act={act} choose={scanned} />
      ) : (
        data.stacks.length > 1 && <ChooseStack choose={scanned} />
      )}
      <Told act={act} undo={false} />
      <Caution text={data.caution} />
    </main>
  );
}

function ChooseStack({ choose }: { choose: (scanned: string) => boolean }) {
  use_scans({ key: () => {}, scan: choose });
  return <p class="counts">Choose the stack that is on the table, or scan its spindle.</p>;
}

function Table(props: {
  stack: Stack;
  reasons: readonly string[];
  act: Act;
  /** A scan puts another stack on the table; false where it names none. */
  choose: (scanned: string) => boolean;
}) {
  const { stack, reasons, act, choose } = props;
  const { session } = use_settings();
  const [counted, set_counted] = useState("");
  const [keys, set_keys] = use_kept<"on" | "off">("keys", "on");
  const allowed = may(session, "station", "engineer");
  const inspection = stack.inspection;
  const of = { spindle: stack.spindle };
  const reject = (reason: string) =>
    act.send<Entered & { left: number }>(
      written.reject(stack.run),
      { ...of, reason },
      ({ left }) => `${capital(reason)}: one to scrap, ${count(left, "disc")} left.`,
    );
  const undo = async () => {
    if (inspection?.last) await act.undo(inspection.last.entry);
  };
  const pass = async (event: SubmitEvent) => {
    event.preventDefault();
    const made = await act.send<Entered & { good: number; rejected: number }>(
      written.pass(stack.run),
      { ...of, counted: whole(counted) },
      ({ good, rejected }) => `${count(good, "disc")} good, ${rejected} to scrap: the spindle is done.`,
    );
    if (made) set_counted("");
  };
  use_scans({
    key: (key) => {
      const reason = reasons[shortcuts.indexOf(key)];
      if (allowed && keys === "on" && !act.busy && shortcuts.includes(key) && reason) void reject(reason);
    },
    scan: (text) => choose(text),
  });
  const on_key = useRef<(event: KeyboardEvent) => void>(() => {});
  on_key.current = (event) => {
    const on = event.target as HTMLElement | null;
    if (event.key !== "Backspace" || !allowed || keys === "off" || act.busy) return;
    if (/^(INPUT|SELECT|TEXTAREA)$/.test(on?.tagName ?? "")) return;
    event.preventDefault();
    void undo();
  };
  useEffect(() => {
    const key = (event: KeyboardEvent) => on_key.current(event);
    addEventListener("keydown", key);
    return () => removeEventListener("keydown", key);
  }, []);
  const tally = (reason: string) => inspection?.tallies.find((one) => one.reason === reason)?.quantity ?? 0;
  return (
    <section aria-label="On the table">
      <h2>
        {stack_words(stack)}: {count(stack.discs, "disc")} of{" "}
        <a href={href("run", stack.run)}>{stack.run}</a>, {stack.name}
      </h2>
      {!allowed && <p class="quiet">Discs are taken off by a station or an engineer; you may look.</p>}
      <div class="reason-keys" role="group" aria-label="Take one off, because of">
        {reasons.map((reason, i) => (
          <button
            key={reason}
            type="button"
            class="reason-key"
            disabled={!allowed || act.busy || stack.discs === 0}
            onClick={() => void reject(reason)}
          >
            <kbd aria-hidden="true">{shortcuts[i]}</kbd>
            <span>{capital(reason)}</span>
            <b>{tally(reason)}</b>
          </button>
        ))}
      </div>
      <div class="acts">
        <button
          type="button"
          class="touch"
          disabled={!allowed || act.busy || !inspection?.last}
          onClick={() => void undo()}
        >
          Take the last back{inspection?.last ? `: ${inspection.last.what}` : ""} <kbd aria-hidden="true">⌫</kbd>
        </button>
        <label class="touch-choice">
          <input
            type="checkbox"
            checked={keys === "on"}
            onChange={(event) => set_keys(event.currentTarget.checked ? "on" : "off")}
          />{" "}
          Single keys act
        </label>
      </div>
      <form class="fields" onSubmit={(event) => void pass(event)} aria-label="The rest are good">
        <Field label="Good ones counted (may be left out)">
          <input
            class="big-figure"
            inputMode="numeric"
            value={counted}
            onInput={(event) => set_counted(event.currentTarget.value.replace(/\D/g, ""))}
          />
        </Field>
        <button type="submit" class="main touch" disabled={!allowed || act.busy}>
          The other {stack.discs} are good
        </button>
      </form>
      <p class="quiet">
        {inspection
          ? `${inspection.code}, begun by ${inspection.who ?? "somebody"}: ${inspection.rejected} to scrap and ${stack.discs} still there are the ${inspection.rejected + stack.discs} that came.`
          : "Each touch is an entry of its own; the count closes after each."}
      </p>
    </section>
  );
}
