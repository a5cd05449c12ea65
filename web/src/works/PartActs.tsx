import { useState } from "preact/hooks";
import { use_data } from "../live";
import { Problem } from "../parts/Notice";
import { go, href } from "../router";
import { may, use_settings } from "../settings";
import { capital, count } from "../units";
import { Caution, Field, Paper, Told, use_act } from "./act";
import { asked, type Entered, type PartActs as Acts, written } from "./api";

/** Readings that are usually taken at a step, offered by name; any other may be written. */
const usual: Record<string, string[]> = {
  grown: ["thickness", "current", "time"],
  faced: ["thickness", "current", "time"],
  backed: ["thickness"],
  centred: ["offset_x", "offset_y"],
  inspected: ["thickness"],
};

interface Reading {
  name: string;
  value: string;
}

/** What may be done to a part now: each step that its state allows is a button, the others say why not. */
export function PartActs({ code, pressed }: { code: string; pressed: boolean }) {
  const { data, error, again } = use_data<Acts>(asked.acts(code));
  const { session } = use_settings();
  const act = use_act();
  const [step, set_step] = useState<string | null>(null);
  const [readings, set_readings] = useState<Reading[]>([]);
  const [note, set_note] = useState("");
  const allowed = may(session, "station", "engineer");
  if (error) return <Problem error={error} again={again} />;
  if (!data) return null;
  const choose = (name: string) => {
    set_step(name);
    set_note("");
    set_readings((usual[name] ?? []).map((one) => ({ name: one, value: "" })));
  };
  const reading = (at: number, change: Partial<Reading>) =>
    set_readings(readings.map((one, i) => (i === at ? { ...one, ...change } : one)));
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    const said = Object.fromEntries(readings.filter((one) => one.name && one.value).map((one) => [one.name, one.value]));
    const made = await act.send<Entered & { state: string }>(
      written.step(code),
      { step, readings: said, note },
      (done) => `${capital(step ?? "")}: ${code} is ${done.state} now.`,
    );
    if (made) set_step(null);
  };
  const grow = async (child: string) => {
    const made = await act.send(
      written.thing,
      { kind: "part", fields: { kind: child, parent: code } },
      (entered) => `${capital(child)} ${entered.code} grows on ${code}.`,
    );
    if (made?.code) go(href("part", made.code));
  };
  const ends = new Set(["withdrawn", "scrapped", "taken back", "failed inspection"]);
  const steps = data.steps.filter((one) => one.may && !ends.has(one.step)),
    retiring = data.steps.filter((one) => one.may && ends.has(one.step)),
    not = data.steps.filter((one) => !one.may);
  const grows = data.grows.filter((one) => one.may);
  const key = (name: string) => (
    <button
      key={name}
      type="button"
      class="touch"
      aria-pressed={step === name}
      disabled={!allowed || act.busy}
      onClick={() => choose(name)}
    >
      {capital(name)}
    </button>
  );
  return (
    <section class="by-hand" aria-label="What to do with it">
      <h2>What to do with it</h2>
      {!allowed && <p class="quiet">Steps are entered by a station or an engineer; you may look.</p>}
      <div class="acts">
        {steps.map((one) => key(one.step))}
        {grows.map((one) => (
          <button
            key={one.kind}
            type="button"
            class="touch"
            disabled={!allowed || act.busy}
            onClick={() => void grow(one.kind)}
          >
            Grow a {one.kind} on it
          </button>
        ))}
      </div>
      {step !== null && (
        <form class="sheet-form" onSubmit={(event) => void enter(event)} aria-label={`Enter: ${step}`}>
          <Caution text={data.caution} />
          {readings.map((one, i) => (
            <div key={i} class="place-row">
              <Field label={`Reading ${i + 1}`}>
                <input value={one.name} onInput={(event) => reading(i, { name: event.currentTarget.value })} />
              </Field>
              <Field label={`Value of ${one.name || `reading ${i + 1}`}, with its unit`}>
                <input
                  value={one.value}
                  placeholder={one.name === "thickness" ? "212 um" : ""}
                  onInput={(event) => reading(i, { value: event.currentTarget.value })}
                />
              </Field>
            </div>
          ))}
          <div class="acts">
            <button type="button" onClick={() => set_readings([...readings, { name: "", value: "" }])}>
              Another reading
            </button>
          </div>
          <Field label={ends.has(step) ? "Why" : "Note"}>
            <input value={note} required={ends.has(step)} onInput={(event) => set_note(event.currentTarget.value)} />
          </Field>
          <div class="acts">
            <button type="submit" class="main" disabled={act.busy}>
              Enter: {step}
            </button>
            <button type="button" onClick={() => set_step(null)}>
              Leave it
            </button>
          </div>
        </form>
      )}
      <Told act={act} />
      <div class="acts">
        {retiring.map((one) => key(one.step))}
        <Paper href={asked.paper("traveller", code)}>Traveller</Paper>
        {data.title && (
          <a class="touch" href={href("family", data.title)}>
            Its family
          </a>
        )}
      </div>
      {pressed && allowed && <HoldPart code={code} />}
      {not.length > 0 && (
        <details>
          <summary>Why not {count(not.length, "other step")}</summary>
          <ul class="quiet-list">
            {not.map((one) => (
              <li key={one.step}>
                {capital(one.step)}: {one.why_not}
              </li>
            ))}
            {data.grows
              .filter((one) => !one.may)
              .map((one) => (
                <li key={one.kind}>
                  Grow a {one.kind}: {one.why_not}
                </li>
              ))}
          </ul>
        </details>
      )}
    </section>
  );
}

/** Everything that was pressed from it, and from what grew from it, becomes suspect where it lies. */
function HoldPart({ code }: { code: string }) {
  const act = use_act();
  const [reason, set_reason] = useState("");
  const hold = async (event: SubmitEvent) => {
    event.preventDefault();
    await act.send<Entered & { discs: number; shipped: number; already: number }>(
      written.hold_part(code),
      { reason },
      (held) =>
        `${count(held.discs, "disc")} held${held.already > 0 ? `, ${held.already} were suspect before` : ""}${held.shipped > 0 ? `; ${held.shipped} have been shipped and must be called back` : ""}.`,
    );
  };
  return (
    <form class="fields" onSubmit={(event) => void hold(event)} aria-label="Quarantine">
      <Field label="Quarantine all pressed from it, because">
        <input required value={reason} onInput={(event) => set_reason(event.currentTarget.value)} />
      </Field>
      <button type="submit" disabled={act.busy}>
        Hold its discs
      </button>
      <Told act={act} />
    </form>
  );
}
