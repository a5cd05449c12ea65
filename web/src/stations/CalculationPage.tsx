import { useEffect, useRef, useState } from "preact/hooks";
import { ApiError } from "../api";
import { use_version } from "../live";
import { use_settings } from "../settings";
import { type Answered, AnswerView } from "./Answer";
import { calculate, known_files } from "./ask";
import { chart, sampling } from "./bench";
import { biscuit, mix } from "./compound";
import { begin, type GivenFile, options_of, refusal_of, type Values, type View } from "./describe";
import { Form } from "./Form";
import { back, centre, plate } from "./metal";
import { need, plan } from "./planning";
import { cycle } from "./press";
import "./stations.css";

const described: Record<string, View> = { plate, back, centre, mix, biscuit, cycle, sampling, chart, plan, need };

/** What stands in a view outlives a look at another page; its questions share what was typed. */
interface Standing {
  now: Answered | null;
  kept: Answered | null;
  /** Of the record, when it was asked. */
  version: string;
}
const standing = new Map<string, Standing>();
const typed = new Map<string, Values>();
const asked_last = new Map<string, number>();

export function CalculationPage({ name, query }: { name: string; query: URLSearchParams }) {
  const view = described[name];
  const wanted = Number(query.get("question") ?? Number.NaN);
  const [at, set_at] = useState(Number.isInteger(wanted) ? wanted : (asked_last.get(name) ?? 0));
  if (!view)
    return (
      <main id="main" tabIndex={-1} class="desk">
        <h1>No such calculation</h1>
        <p>
          <a href="/">To the line</a>
        </p>
      </main>
    );
  const index = Math.min(Math.max(at, 0), view.questions.length - 1);
  const choose = (next: number) => {
    asked_last.set(name, next);
    set_at(next);
  };
  return (
    <main id="main" tabIndex={-1} class="desk calculation">
      <header class="subject">
        <h1>{view.title}</h1>
        <p class="counts">{view.what}</p>
        {view.questions.length > 1 && (
          <fieldset class="choices">
            <legend>Ask</legend>
            {view.questions.map((one, i) => (
              <label key={one.words} class="choice">
                <input type="radio" name="question" checked={i === index} onChange={() => choose(i)} /> {one.words}
              </label>
            ))}
          </fieldset>
        )}
      </header>
      <Asked key={`${name}-${index}`} name={name} view={view} index={index} query={query} />
    </main>
  );
}

function Asked({ name, view, index, query }: { name: string; view: View; index: number; query: URLSearchParams }) {
  const question = view.questions[index];
  const { system } = use_settings();
  const [, redraw] = useState(0);
  const [files, set_files] = useState<readonly GivenFile[]>([]);
  const [busy, set_busy] = useState(false);
  const [refused, set_refused] = useState<{ field: string | null; words: string } | null>(null);
  const alive = useRef(true);
  const { version } = use_version();
  if (!question) return null;
  const state = standing.get(`${name}-${index}`) ?? { now: null, kept: null, version };
  standing.set(`${name}-${index}`, state);
  const told = useRef(false);
  const values: Values = { ...begin(question, system), ...typed.get(name) };
  if (!told.current) {
    // What the address tells goes before what was typed on an earlier visit.
    told.current = true;
    for (const field of question.fields) {
      const given = query.get(field.name);
      if (given !== null) values[field.name] = begin(question, system, { [field.name]: given })[field.name] ?? given;
    }
  }
  typed.set(name, values);
  const change = (by: Partial<Standing>) => {
    Object.assign(state, by);
    if (alive.current) redraw((n) => n + 1);
  };
  const now_typed = () => typed.get(name) ?? values;
  const set = (field: string, value: Values[string]) => {
    typed.set(name, { ...now_typed(), [field]: value });
    change({});
  };
  const ask = async (and_look: boolean) => {
    const options = options_of(question, now_typed(), system);
    set_busy(true);
    set_refused(null);
    try {
      const answer = await calculate(question.calculation, options);
      change({ now: { answer, options }, version });
      if (and_look && alive.current)
        requestAnimationFrame(() => {
          const head = document.getElementById("answer");
          head?.focus({ preventScroll: true });
          if (head && (head.getBoundingClientRect().top < 0 || head.getBoundingClientRect().top > innerHeight * 0.8))
            head.scrollIntoView({ block: "start" });
        });
    } catch (error) {
      if (alive.current) set_refused(refusal_of(question, error instanceof ApiError ? error.message : String(error)));
    }
    if (alive.current) set_busy(false);
  };
  // Asked anew where another question of this view changed what is given, or the record moved meanwhile; not what was
  // entered from here.
  const is_stale = () =>
    JSON.stringify(state.now?.options) !== JSON.stringify(options_of(question, now_typed(), system)) ||
    (state.version !== version && state.now?.answer.entry === null);
  useEffect(() => {
    alive.current = true;
    known_files().then(
      (all) => {
        if (!alive.current) return;
        set_files(all);
        // The works' own recipe is the usual one.
        const usual = question.fields.flatMap((field) =>
          field.kind === "file" && field.folder && !field.more && field.none === undefined ? [field] : [],
        );
        for (const field of usual) {
          const own = all.find((file) => file.folder === field.folder);
          if (own && now_typed()[field.name] === "") set(field.name, own.id);
        }
        const ready = question.at_once || (usual.length > 0 && usual.every((field) => now_typed()[field.name] !== ""));
        if (ready && is_stale()) void ask(false);
      },
      () => {
        if (question.at_once && is_stale()) void ask(false);
      },
    );
    return () => {
      alive.current = false;
    };
  }, []);
  return (
    <div class="columns calculation-columns">
      <Form
        question={question}
        values={values}
        answer={state.now?.answer ?? null}
        files={files}
        refused={refused}
        busy={busy}
        set={set}
        on_file={(file) => set_files((all) => [file, ...all.filter((one) => one.id !== file.id)])}
        calculate={() => void ask(true)}
      />
      <div class="side-part">
        {state.now && question.After && (
          <question.After answer={state.now.answer} values={values} set={set} calculate={() => void ask(true)} />
        )}
        {state.now ? (
          <AnswerView
            question={question}
            now={state.now}
            kept={state.kept}
            on_entered={(answer) => state.now && change({ now: { ...state.now, answer } })}
            on_keep={(keep) => change({ kept: keep ? state.now : null })}
          />
        ) : (
          <p class="waiting" role="status">
            {busy ? "Calculating …" : "The answer stands here."}
          </p>
        )}
      </div>
    </div>
  );
}
