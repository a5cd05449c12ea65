import { useEffect, useRef, useState } from "preact/hooks";
import { ApiError } from "../api";
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

/** What stands in a view outlives a look at another page. */
interface Standing {
  values: Values;
  now: Answered | null;
  kept: Answered | null;
}
const standing = new Map<string, Standing>();
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
      <Asked key={`${name}-${index}`} name={`${name}-${index}`} view={view} index={index} query={query} />
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
  if (!question) return null;
  let here = standing.get(name);
  if (!here) {
    here = { values: begin(question, system, Object.fromEntries(query)), now: null, kept: null };
    standing.set(name, here);
  }
  const state = here;
  const change = (by: Partial<Standing>) => {
    Object.assign(state, by);
    if (alive.current) redraw((n) => n + 1);
  };
  const set = (field: string, value: Values[string]) => change({ values: { ...state.values, [field]: value } });
  const ask = async (and_look: boolean) => {
    const options = options_of(question, state.values, system);
    const from = performance.now();
    set_busy(true);
    set_refused(null);
    try {
      const answer = await calculate(question.calculation, options);
      change({ now: { answer, options, seconds: (performance.now() - from) / 1000 } });
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
  useEffect(() => {
    alive.current = true;
    known_files().then(
      (all) => {
        if (!alive.current) return;
        set_files(all);
        // The works' own recipe or plan is the usual one.
        for (const field of question.fields)
          if (field.kind === "file" && field.folder && !field.more && state.values[field.name] === "") {
            const own = all.find((file) => file.folder === field.folder);
            if (own) set(field.name, own.id);
          }
        if (
          question.at_once ||
          question.fields.some(
            (field) => field.kind === "file" && field.folder && !field.more && state.values[field.name] !== "",
          )
        )
          if (!state.now) void ask(false);
      },
      () => {
        if (question.at_once && !state.now) void ask(false);
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
        values={state.values}
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
          <question.After answer={state.now.answer} values={state.values} set={set} calculate={() => void ask(true)} />
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
