import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { ApiError } from "../api";
import { save } from "../parts/Figure";
import { type State, Shape } from "../parts/State";
import { type Column, Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { capital } from "../units";
import { log, type Options, take_back } from "./ask";
import { type Calculated, type Cell, next_of, type Question, type Shown, shown_of, type ShownTable } from "./describe";

/** An answer, and what was asked for it. */
export interface Answered {
  answer: Calculated;
  options: Options;
}

const glyphs: Record<string, State> = { "●": "good", "▲": "out", "○": "unknown" };

export function state_of(answer: Calculated): { state: State; words: string } {
  const glyph = glyphs[answer.headline.charAt(0)];
  return glyph
    ? {
        state: glyph,
        words: answer.headline
          .slice(1)
          .trim()
          .replace(/\s{2,}/, " — "),
      }
    : { state: answer.within ? "good" : "out", words: capital(answer.headline.replace(/\s{2,}/, " — ")) };
}

export function AnswerView(props: {
  question: Question;
  now: Answered;
  kept: Answered | null;
  on_keep: (keep: boolean) => void;
  /** The answer as it stands in the record. */
  on_entered: (answer: Calculated) => void;
}) {
  const { question, now, kept } = props;
  const { system } = use_settings();
  const { state, words } = state_of(now.answer);
  const shown = useMemo(() => shown_of(question, now.answer, system), [now.answer, system]);
  const before = useMemo(
    () => (kept && kept !== now ? shown_of(question, kept.answer, system) : null),
    [kept, now, system],
  );
  return (
    <section class="answer" aria-label="Answer">
      <h2 id="answer" tabIndex={-1} class={`answer-head verdict-${state}`}>
        <Shape state={state} /> {words}
      </h2>
      {before && kept ? (
        <Beside before={before} kept={kept} now={shown} headline={words} />
      ) : (
        <dl class="figures">
          {shown.figures.map(([name, text]) => (
            <div key={name} class="figure-row">
              <dt>{name}</dt>
              <dd>{text}</dd>
            </div>
          ))}
        </dl>
      )}
      {now.answer.next && (
        <p class="next">
          <b>Next:</b> {next_of(question, now.answer)}
        </p>
      )}
      {now.answer.cautions.length > 0 && (
        <div class="caution" role="note" aria-label="Caution">
          <b>Caution.</b> {now.answer.cautions.join(" ")}
        </div>
      )}
      <LogAct question={question} now={now} on_entered={props.on_entered} />
      <p class="acts">
        {kept === now ? (
          <span role="status">Kept: change a field and calculate again, and both stand side by side.</span>
        ) : (
          <button type="button" onClick={() => props.on_keep(true)}>
            Keep this answer to compare
          </button>
        )}
        {kept && (
          <button type="button" class="quiet" onClick={() => props.on_keep(false)}>
            Let go of the kept answer
          </button>
        )}
      </p>
      {now.answer.pictures.length > 0 && (
        <div class="answer-pictures">
          {now.answer.pictures.map((picture) => (
            <Picture
              key={picture.name}
              picture={picture}
              alt={`${picture.title}. ${words}`}
              name={`${now.answer.name}-${picture.name}`}
              numbers={shown.numbers?.[picture.name]}
            />
          ))}
        </div>
      )}
      {(shown.tables ?? []).map((table) => (
        <Shownable key={table.caption} table={table} />
      ))}
      {(shown.remarks ?? []).length > 0 && (
        <section aria-label="Remarks">
          <h3>Remarks</h3>
          <ul class="quiet-list">
            {(shown.remarks ?? []).map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ul>
        </section>
      )}
      <details open={shown.strange}>
        <summary>The whole answer in the command's own words</summary>
        <pre class="words" tabIndex={0} aria-label="The command's own words">
          {now.answer.words}
        </pre>
      </details>
    </section>
  );
}

/** The kept answer and this one, figure by figure. */
function Beside({ before, kept, now, headline }: { before: Shown; kept: Answered; now: Shown; headline: string }) {
  const old = new Map(before.figures.map(([name, text]) => [name, text]));
  const names = [...now.figures.map(([name]) => name), ...before.figures.map(([name]) => name)].filter(
    (name, i, all) => all.indexOf(name) === i,
  );
  const fresh = new Map(now.figures.map(([name, text]) => [name, text]));
  return (
    <div class="table-scroll" tabIndex={0} role="group" aria-label="Kept answer and this one">
      <table class="beside-table">
        <caption>Kept answer, and this one</caption>
        <thead>
          <tr>
            <th scope="col">Figure</th>
            <th scope="col">Kept</th>
            <th scope="col">Now</th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">Verdict</th>
            <td>{state_of(kept.answer).words}</td>
            <td>{headline}</td>
          </tr>
          {names.map((name) => {
            const moved = old.get(name) !== fresh.get(name);
            return (
              <tr key={name} class={moved ? "moved" : ""}>
                <th scope="row">{name}</th>
                <td>{old.get(name) ?? "–"}</td>
                <td>
                  {fresh.get(name) ?? "–"}
                  {moved && <span class="unseen"> (moved)</span>}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

const code_pages: Record<string, string> = { T: "title", O: "order", R: "run", P: "part" };
/** The page of a title, order, run or part that is called by the record's own code, such as R-00003-5. */
export function page_of_code(text: string): string | null {
  const page = /^[TORP]-\d{4,}-[0-9A-Z]$/.test(text) ? code_pages[text.charAt(0)] : undefined;
  return page ? href(page, text) : null;
}

type Row = readonly Cell[];
function Shownable({ table }: { table: ShownTable }) {
  const columns: Column<{ at: number; row: Row }>[] = table.heads.map(({ head, figure }, i) => ({
    head,
    ...(figure ? { figure } : {}),
    value: ({ row }) => {
      const cell = row[i] ?? null;
      // Sorted as numbers where they are written as such.
      return typeof cell === "string" && figure && /^[−-]?[\d\u202f.]+$/.test(cell)
        ? Number(cell.replace("−", "-").replaceAll("\u202f", ""))
        : cell;
    },
    show: ({ row }) => {
      const cell = row[i] ?? "–";
      const to = typeof cell === "string" ? page_of_code(cell) : null;
      if (to) return <a href={to}>{cell}</a>;
      return typeof cell === "string" && cell.length < 18 ? <span class="whole">{cell}</span> : cell;
    },
  }));
  const rows = useMemo(() => table.rows.map((row, at) => ({ at, row })), [table.rows]);
  return <Table caption={table.caption} columns={columns} rows={rows} row_key={({ at }) => at} most={60} />;
}

function Picture(props: {
  picture: { name: string; title: string; svg: string };
  alt: string;
  name: string;
  numbers: ShownTable | undefined;
}) {
  const [url, set_url] = useState("");
  const image = useRef<HTMLImageElement>(null);
  useEffect(() => {
    const made = URL.createObjectURL(new Blob([props.picture.svg], { type: "image/svg+xml" }));
    set_url(made);
    return () => URL.revokeObjectURL(made);
  }, [props.picture.svg]);
  const as_png = async () => {
    const from = image.current;
    if (!from) return;
    const canvas = document.createElement("canvas");
    canvas.width = from.naturalWidth * 2;
    canvas.height = from.naturalHeight * 2;
    canvas.getContext("2d")?.drawImage(from, 0, 0, canvas.width, canvas.height);
    const png = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/png"));
    if (png) save(`${props.name}.png`, png);
  };
  return (
    <section class="answer-picture" aria-label={props.picture.title}>
      <h3>{props.picture.title}</h3>
      <div class="wide drawn" tabIndex={0} role="group" aria-label={`${props.picture.title}, picture`}>
        {url && <img ref={image} src={url} alt={props.alt} />}
      </div>
      <p class="tools">
        <button
          type="button"
          class="quiet"
          onClick={() => save(`${props.name}.svg`, new Blob([props.picture.svg], { type: "image/svg+xml" }))}
        >
          Save as SVG<span class="unseen">: {props.picture.title}</span>
        </button>
        <button type="button" class="quiet" onClick={() => void as_png()}>
          Save as PNG<span class="unseen">: {props.picture.title}</span>
        </button>
      </p>
      {props.numbers && props.numbers.rows.length > 0 && (
        <details>
          <summary>The numbers of this picture</summary>
          <Shownable table={props.numbers} />
        </details>
      )}
    </section>
  );
}

/** Enters what was calculated, once, under the name of whoever presses; taken back by the same hand. */
function LogAct(props: { question: Question; now: Answered; on_entered: (answer: Calculated) => void }) {
  const { question, now, on_entered } = props;
  const { session } = use_settings();
  const wanted = question.log;
  const told = wanted?.field ? String(now.options[wanted.field] ?? "") : "";
  const [to, set_to] = useState(told);
  const [busy, set_busy] = useState(false);
  const [said, set_said] = useState({ words: "", wrong: false });
  const { entry } = now.answer;
  useEffect(() => {
    if (entry === null) set_to(told);
    set_said({ words: "", wrong: false });
  }, [now.options]);
  if (!wanted) return null;
  if (!may(session, "station", "engineer"))
    return <p class="quiet">Entering this in the record takes the role of station or engineer.</p>;
  const act = async (what: () => Promise<string>) => {
    set_busy(true);
    try {
      set_said({ words: await what(), wrong: false });
    } catch (error) {
      set_said({ words: error instanceof ApiError ? error.message : String(error), wrong: true });
    }
    set_busy(false);
  };
  const enter = () =>
    act(async () => {
      const done = await log(question.calculation, now.options, to.trim());
      on_entered(done);
      return `Entered in the record as entry ${done.entry}, by ${session.name}.`;
    });
  const undo = (made: number) =>
    act(async () => {
      const back = await take_back(made, "entered by mistake");
      on_entered({ ...now.answer, entry: null });
      return `Entry ${made} is taken back by entry ${back.entry}.`;
    });
  const entered = entry !== null;
  return (
    <form
      class="log-act"
      aria-label={wanted.act}
      onSubmit={(event) => {
        event.preventDefault();
        void enter();
      }}
    >
      <label>
        {wanted.to === "recipe" ? "Name of the recipe" : wanted.to === "batch" ? "Batch" : "Part"}
        <input
          type="text"
          autocomplete="off"
          value={to}
          disabled={entered || busy}
          onInput={(event) => set_to(event.currentTarget.value)}
        />
      </label>
      <button type="submit" disabled={entered || busy || (to.trim() === "" && !wanted.optional)}>
        {wanted.act}
      </button>
      {entered && (
        <button type="button" disabled={busy} onClick={() => void undo(entry)}>
          Take entry {entry} back
        </button>
      )}
      <span class="help">{wanted.help}</span>
      <span role="status" class={said.wrong ? "error" : ""}>
        {said.words}
      </span>
    </form>
  );
}
