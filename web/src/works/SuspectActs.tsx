import { useState } from "preact/hooks";
import { may, use_settings } from "../settings";
import { count } from "../units";
import { Field, Told, use_act } from "./act";
import { type Entered, written } from "./api";

/** What becomes of the suspect discs of a run: let go, or scrapped. */
export function SuspectActs({ run, suspect }: { run: string; suspect: number }) {
  const { session } = use_settings();
  const act = use_act();
  const [reason, set_reason] = useState("");
  if (suspect === 0 && act.entry === null) return null;
  const told = (words: string) => (made: Entered & { discs: number }) => `${count(made.discs, "disc")} ${words}.`;
  const scrap = async (event: SubmitEvent) => {
    event.preventDefault();
    await act.send(written.move(run), { to: "scrap", from: "suspect", reason }, told("to scrap"));
  };
  return (
    <form class="fields by-hand" onSubmit={(event) => void scrap(event)} aria-label="Suspect discs">
      <Field label="Reason for the scrap">
        <input required value={reason} onInput={(event) => set_reason(event.currentTarget.value)} />
      </Field>
      <button type="submit" disabled={act.busy || suspect === 0 || !may(session, "station", "engineer")}>
        Scrap {count(suspect, "suspect disc")}
      </button>
      <button
        type="button"
        disabled={act.busy || suspect === 0 || !may(session, "engineer")}
        onClick={() => void act.send(written.release(run), {}, told("let go"))}
      >
        Let them go
      </button>
      <Told act={act} />
    </form>
  );
}
