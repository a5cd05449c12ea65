import { useCallback, useEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, path, type Heard, type Opinions, type Trace } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { use_kept } from "../hooks";
import { tell_changed, use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, type State, StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { save } from "../parts/Figure";
import { palette_now } from "../colours";
import { draw_portrait, listed_faults, portrait_words, type PortraitOptions, sit } from "../portrait/draw";
import { SvgPen } from "../portrait/svg_pen";
import { is_metal, type View, views } from "../portrait/geometry";
import { Portrait } from "../portrait/Portrait";
import { go, href } from "../router";
import { may, use_settings } from "../settings";
import { belief, cause_words, recurring_at } from "../trace/family";
import {
  capital, clock_ms, clock_s, count, decibel, degrees, fixed, instant, per_cent, radius, signed, signed_decibel, small_length,
  standing, type Standing, standing_words, type UnitSystem, worst_first,
} from "../units";
import { ear_words, said_of, type Tap, tap_at } from "./ear";
import { Legends } from "./Legends";
import { channel_words, type Channels, Player, sounds, type Window } from "./player";
import { LevelsPlot, WowPlot } from "./plots";
import { clock_of, CloseUp, fault_time_s, Strip } from "./Strip";

const shapes: Record<Standing, State> = { good: "good", out: "out", not_this_cut: "out", unjudged: "unknown" };
const seen_words: Record<View, string> = {
  disc: "Disc", mother: "Mother", stamper: "Stamper", father: "Father",
};

export function Bench({ report: code }: { report: string }) {
  const heard = use_data<Heard>(path.heard(code));
  const portrait = use_data<HeardSide>(path.portrait(code));
  const error = portrait.error ?? heard.error;
  if (!portrait.data || !heard.data)
    return <main id="main" tabIndex={-1} class="bench">{error ? <Problem error={error} again={portrait.again} /> : <Waiting what="the heard side" />}</main>;
  return <HeardBench key={code} report={portrait.data} heard={heard.data} />;
}

/** The player of this page, drawn anew as it plays. */
function use_player(code: string, heard: Heard, on_error: (error: unknown) => void) {
  const player = useMemo(() => new Player(code, heard.audio), [code]);
  const [, redraw] = useState(0);
  const [position_s, set_position] = useState<number | null>(null);
  useEffect(() => {
    let frame = 0;
    const follow = () => {
      set_position(player.position_s());
      if (player.playing) frame = requestAnimationFrame(follow);
    };
    player.on_change = () => {
      redraw((n) => n + 1);
      cancelAnimationFrame(frame);
      follow();
    };
    player.on_error = on_error;
    return () => {
      cancelAnimationFrame(frame);
      player.close();
    };
  }, [player]);
  return { player, position_s };
}

function HeardBench({ report, heard }: { report: HeardSide; heard: Heard }) {
  const { session, system, zone } = use_settings();
  const [view, set_view] = use_kept<View>("view", "disc");
  const [landmark, set_landmark] = use_kept<string>(`landmark.${heard.play.stamper ?? ""}`, "0");
  const [shrinkage, set_shrinkage] = use_kept<string>("shrinkage", "0");
  const [keys_on, set_keys_on] = use_kept<"on" | "off">("keys", "on");
  const [about, set_about] = use_kept<string>("about", "2");
  const by_time = useMemo(() => [...report.faults].sort((a, b) => fault_time_s(report, a) - fault_time_s(report, b)), [report]);
  const worst = useMemo(() => worst_first(report.faults).map((i) => report.faults[i] as Fault), [report]);
  const [chosen_id, set_chosen_id] = useState<number | null>(worst[0]?.id ?? null);
  const chosen = report.faults.find((fault) => fault.id === chosen_id) ?? null;
  const [said, set_said] = useState("");
  const [problem, set_problem] = useState<string | null>(null);
  const fail = useCallback((error: unknown) => set_problem(error instanceof Error ? error.message : String(error)), []);
  const { player, position_s } = use_player(report.report, heard, fail);
  const [close_up, set_close_up] = useState<Window | null>(null);
  const clock = useMemo(() => clock_of(report), [report]);
  const [start_s, set_start_s] = useState(Math.max(report.programme_start_s ?? 0, 0));
  const [taps, set_taps] = useState<Tap[]>(() => read_taps(report.report));
  const opinions = heard.opinions;
  const mine = useMemo(() => said_of(opinions.opinions, session.name), [opinions, session.name]);
  const anyone = useMemo(() => said_of(opinions.opinions, null), [opinions]);
  const may_judge = may(session, "listener", "engineer");
  const stands = standing(report);
  const tallest = use_tallest();
  const portrait_options = { view, landmark_angle_deg: Number(landmark) || 0, shrinkage: Math.min(Math.max(Number(shrinkage) || 0, 0), 4.9) / 100 };
  const side_ends_s = report.duration_s;

  useEffect(() => write_taps(report.report, taps), [taps]);

  const window_of = (fault: Fault): [number, number] => {
    const half = Number(about) / 2;
    const from_s = Math.max(0, Math.min(fault.capture_s - half, side_ends_s - 2 * half));
    return [from_s, Math.min(from_s + 2 * half, side_ends_s)];
  };
  // The chosen fault's sounds are fetched at once, so that a key plays them without waiting.
  useEffect(() => {
    if (!chosen || !heard.audio.capture) return;
    let here = true;
    const [from_s, to_s] = window_of(chosen);
    player.load(from_s, to_s).then((loaded) => here && set_close_up(loaded), (error: unknown) => here && fail(error));
    if (player.playing === "window") player.play_window(from_s, to_s).catch(fail);
    return () => {
      here = false;
    };
  }, [chosen_id, about, player]);

  const choose = (fault: Fault) => {
    set_chosen_id(fault.id);
    set_start_s(Math.max(fault.capture_s - 2, 0));
  };
  const step = (by: number) => {
    if (by_time.length === 0) return;
    const at = by_time.findIndex((fault) => fault.id === chosen_id);
    const next = by_time[Math.min(Math.max(at + by, 0), by_time.length - 1)];
    if (next) choose(next);
  };
  const play_fault = () => {
    set_problem(null);
    if (player.playing === "window") player.stop();
    else if (chosen && heard.audio.capture) player.play_window(...window_of(chosen)).catch(fail);
  };
  const play_side = () => {
    set_problem(null);
    if (player.playing === "side") player.stop();
    else if (heard.audio.capture) player.play_side(start_s, side_ends_s);
  };
  /** Of a fault, or of the verdict as a whole. */
  const judge = async (opinion: "agree" | "disagree", fault: Fault | null) => {
    if (!may_judge) return;
    try {
      await api.post<Opinions>(path.opinions(report.report), fault ? { opinion, fault: fault.id } : { opinion });
      const with_what = fault ? `the ${fault.kind} at ${clock_s(fault_time_s(report, fault))}` : "the verdict";
      set_said(`${opinion === "agree" ? "Agreed" : "Disagreed"} with ${with_what}.`);
      set_problem(null);
      tell_changed();
    } catch (error) {
      fail(error);
    }
  };
  const tap = () => {
    const at_s = player.position_s();
    if (at_s === null) return set_said("Play the side first: a tap marks what is heard at that moment.");
    const made = tap_at(at_s, report.faults);
    set_taps((before) => [...before, made]);
    set_said(made.fault === null ? `Tapped at ${clock_ms(made.capture_s)} of the capture.` : `Tapped: the ${made.kind} at ${clock_ms(made.capture_s)}, which the engine has too.`);
  };
  const keep_taps = async () => {
    try {
      const left = [...taps];
      while (left.length > 0) {
        const one = left[0] as Tap;
        await api.post(path.opinions(report.report), one.fault === null
          ? { opinion: "added", capture_s: one.capture_s, what: one.kind }
          : { opinion: "agree", fault: one.fault });
        left.shift();
        set_taps([...left]);
      }
      set_said("Kept.");
      tell_changed();
    } catch (error) {
      fail(error);
    }
  };

  const acts = useRef<Record<string, () => void>>({});
  acts.current = {
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
    " ": play_fault,
    s: play_side,
    "1": () => player.choose_sound("capture"),
    "2": () => player.choose_sound("cut"),
    "3": () => player.choose_sound("difference"),
    a: () => void (chosen && judge("agree", chosen)),
    d: () => void (chosen && judge("disagree", chosen)),
    t: tap,
    m: () => player.set_channels(after(Object.keys(channel_words) as Channels[], player.channels)),
    v: () => set_view(after(views, view)),
    "+": () => player.set_level(Math.min(player.level_dB + 3, 24)),
    "=": () => player.set_level(Math.min(player.level_dB + 3, 24)),
    "-": () => player.set_level(Math.max(player.level_dB - 3, -40)),
  };
  useEffect(() => {
    if (keys_on === "off") return;
    const press = (event: KeyboardEvent) => {
      if (event.ctrlKey || event.metaKey || event.altKey || takes_key(event)) return;
      const act = acts.current[event.key.length === 1 ? event.key.toLowerCase() : event.key];
      if (!act) return;
      event.preventDefault();
      act();
    };
    document.addEventListener("keydown", press);
    return () => document.removeEventListener("keydown", press);
  }, [keys_on]);

  const playing_time_s = position_s === null ? null : clock.of_capture(position_s);
  const plain = report.faults.filter((fault) => fault.audibility === "plain").length;
  const counts = stands === "not_this_cut" ? "Wrong title, wrong side or another take" : [
    `${plain} plain and ${report.faults.length - plain} slight faults`,
    report.offset.eccentricity_m === null ? null : `offset ${small_length(report.offset.eccentricity_m, system, 2)}`,
    report.alignment?.found ? `speed ${signed(report.alignment.speed_error_ppm * 1e-4, 2)}\u2009%` : null,
    report.noise.weighted_dB === null ? null : `noise ${decibel(report.noise.weighted_dB)}`,
  ].filter(Boolean).join(" · ");
  const play = heard.play;
  const impressions = play.impression[0] === play.impression[1] ? `${play.impression[0]}` : `${play.impression[0]}–${play.impression[1]}`;
  const trace = use_data<Trace>(play.side === null ? null : path.trace(play.side));
  const recurs = chosen ? recurring_at(trace.data?.trace?.recurring ?? [], chosen.programme_s) : null;
  const unjudged = worst.find((fault) => !anyone.has(fault.id) && fault.audibility === "plain");

  return (
    <main id="main" tabIndex={-1} class="bench">
      <header class="subject">
        <p class="what">
          <a href={href("title", play.title)}>{heard.name}</a> · side {play.letter} · disc <a href={href("disc", play.run, play.impression[0])}>{play.run}, impression {impressions}</a>
          {" "}· ticket {play.ticket}{play.stamper && <> · stamper <a href={href("part", play.stamper)}>{play.stamper}</a></>} · play {play.play}, {play.after} · heard {instant(play.at_ms, zone)}
        </p>
        <h1 class={`verdict verdict-${shapes[stands]}`}><Shape state={shapes[stands]} size="1em" /> {standing_words[stands]}</h1>
        <nav aria-label="Neighbours" class="neighbours">
          {heard.previous && <a href={href("bench", heard.previous)}>← Disc before on this stamper</a>}
          {heard.next && <a href={href("bench", heard.next)}>Disc after on this stamper →</a>}
          {play.side && <a href={href("side", play.side)}>All discs of this side</a>}
          {play.side && <a href={href("trace", play.side)}>Trace of this side</a>}
          {play.side && heard.previous && <a href={href("overlay", report.report, heard.previous)}>Lay over the disc before</a>}
        </nav>
        <p class="counts">{counts}</p>
      </header>
      {problem && <p class="problem" role="alert">{problem}</p>}
      <div class="columns">
        <section aria-label="Portrait" class="portrait-part">
          <fieldset class="choices">
            <legend class="unseen">What is looked at</legend>
            {views.map((one) => (
              <label key={one} class="choice">
                <input type="radio" name="view" checked={view === one} onChange={() => set_view(one)} /> {seen_words[one]}
              </label>
            ))}
          </fieldset>
          <Portrait report={report} {...portrait_options} system={system} chosen={chosen} on_choose={choose}
            playing_programme_s={playing_time_s} most={tallest} />
          <section aria-label="In time" class="in-time">
            <h2>In time</h2>
            <Strip report={report} chosen={chosen} playing_s={playing_time_s} on_choose={choose} own={opinions.opinions.filter((one) => one.opinion === "added")}
              on_place={(time_s) => set_start_s(Math.min(Math.max(clock.to_capture(time_s), 0), side_ends_s))} />
            <p class="quiet">{capital(clock.words)}. Stems are faults, higher is louder; copper bars are patterns, open copper diamonds what listeners added; the band beneath is the noise of each turn. Click a stem to choose it, elsewhere to play from there.</p>
            {chosen && heard.audio.capture && <CloseUp window={close_up} report={report} fault={chosen} playing_capture_s={player.playing === "window" ? position_s : null} sound={player.sound} />}
          </section>
          <p class="quiet">{is_metal(view) && view !== "mother" ? "Mirrored, as the metal lies face up." : "As heard: the disc turns clockwise, so programme runs the other way round."}</p>
          <Legends report={report} />
          <details>
            <summary>Turn it, shrinkage, save</summary>
            <div class="fields">
              <label>Groove angle at the top, °<input type="number" step="1" value={landmark} onChange={(event) => set_landmark(event.currentTarget.value)} /></label>
              <label>Shrinkage of the compound, %<input type="number" min="0" max="4.9" step="0.05" value={shrinkage} onChange={(event) => set_shrinkage(event.currentTarget.value)} /></label>
              <button type="button" class="quiet" onClick={() => save_portrait(report, portrait_options, system)}>Save portrait as SVG</button>
              <button type="button" class="quiet" onClick={() => save_png(report.report)}>Save portrait as PNG</button>
            </div>
          </details>
        </section>
        <div class="side-part">
          <section aria-label="Why">
            <h2>Why</h2>
            {report.verdict.reasons.length === 0
              ? <p>{report.verdict.pass ? "Every limit that could be judged is kept." : "No limit could be judged."}</p>
              : <ul class="reasons">{report.verdict.reasons.map((reason) => <li key={reason.rule + reason.text}>{capital(reason.text)}</li>)}</ul>}
            <p class="quiet">Limits: {report.verdict.limits}</p>
            {stands === "not_this_cut" && <p><b>What to do:</b> compare ticket, label and matrix number with the order; then hear it against its own cut.</p>}
          </section>
          {chosen && (
            <section aria-label="Chosen fault" class="chosen-fault">
              <h2>{capital(chosen.kind)} at {clock_ms(fault_time_s(report, chosen))}</h2>
              <p class="counts">{radius(chosen.radius_m, system)} from the centre · {degrees(chosen.angle_deg)} · peak {decibel(chosen.peak_dB)} · {chosen.audibility}
                {chosen.channel !== "both" && ` · ${chosen.channel}`}{chosen.nature && ` · ${chosen.nature} ${per_cent(chosen.nature_probability ?? 0)}`}</p>
              {recurs && play.side && (
                <p><StateWord state="out" words={`Recurs on ${recurs.on.length} of ${recurs.heard} discs`} />: {cause_words(recurs.cause)}, {belief(recurs.cause)}.{" "}
                  <a href={`${href("trace", play.side)}?fault=${recurs.id}`}>Trace it</a></p>
              )}
              <p class="step">
                <button type="button" onClick={() => step(-1)}>← Before</button>
                <span>Fault {by_time.findIndex((fault) => fault.id === chosen.id) + 1} of {by_time.length} in time, {ordinal_worst(worst, chosen)}</span>
                <button type="button" onClick={() => step(1)}>After →</button>
              </p>
            </section>
          )}
          <section aria-label="Hear" class="hear">
            {chosen && (
              <p class="acts">
                <button type="button" class="main" disabled={!heard.audio.capture} onClick={play_fault}>
                  {player.playing === "window" ? "Stop" : `Hear this ${chosen.kind}, looped`}
                </button>
                <button type="button" disabled={!may_judge} aria-pressed={mine.get(chosen.id)?.opinion === "agree"} onClick={() => void judge("agree", chosen)}>Agree</button>
                <button type="button" disabled={!may_judge} aria-pressed={mine.get(chosen.id)?.opinion === "disagree"} onClick={() => void judge("disagree", chosen)}>Disagree</button>
              </p>
            )}
            <fieldset class="choices">
              <legend>Sound</legend>
              {sounds.map((sound) => (
                <label key={sound} class="choice">
                  <input type="radio" name="sound" checked={player.sound === sound} disabled={!heard.audio[sound]} onChange={() => player.choose_sound(sound)} /> {capital(sound)}
                </label>
              ))}
            </fieldset>
            {heard.audio.why && <p class="quiet">{heard.audio.why}</p>}
            <div class="fields">
              <label>Level {signed(player.level_dB, 0)}{"\u2009"}dB
                <input type="range" min="-40" max="24" step="1" value={player.level_dB} onInput={(event) => player.set_level(Number(event.currentTarget.value))} />
              </label>
              <label>Channels
                <select value={player.channels} onChange={(event) => player.set_channels(event.currentTarget.value as Channels)}>
                  {(Object.keys(channel_words) as Channels[]).map((one) => <option key={one} value={one}>{channel_words[one]}</option>)}
                </select>
              </label>
              <label>Around the fault
                <select value={about} onChange={(event) => set_about(event.currentTarget.value)}>
                  {["0.5", "1", "2", "5", "10"].map((one) => <option key={one} value={one}>{one.replace(".", ".")}{"\u2009"}s</option>)}
                </select>
              </label>
            </div>
            <p class="caution">Headphones: begin quietly. A difference turned up can hold a loud pop.</p>
            <p class="acts">
              <button type="button" disabled={!heard.audio.capture} onClick={play_side}>
                {player.playing === "side" ? "Stop the side" : `Play the side from ${clock_s(clock.of_capture(start_s))}`}
              </button>
              <button type="button" disabled={player.playing === null || !may_judge} onClick={tap}>Tap: I hear a fault</button>
            </p>
            <p role="status" class="said">{said}</p>
            <Keys on={keys_on === "on"} set_on={(on) => set_keys_on(on ? "on" : "off")} />
          </section>
        </div>
      </div>
      <Taps taps={taps} set_taps={set_taps} keep={() => void keep_taps()} />
      <section aria-label="Faults">
        <h2>Faults</h2>
        <Table caption={`Faults, the ${Math.min(listed_faults, report.faults.length)} worst numbered on the portrait`} rows={worst} row_key={(fault) => fault.id}
          chosen={chosen_id} on_choose={choose} choose_words={(fault) => `Fault ${worst.indexOf(fault) + 1}, ${fault.kind} at ${clock_ms(fault_time_s(report, fault))}`} most={40}
          columns={[
            { head: "no.", value: (fault) => worst.indexOf(fault) + 1, figure: true },
            { head: "time", value: (fault) => fault_time_s(report, fault), show: (fault) => clock_ms(fault_time_s(report, fault)), figure: true },
            { head: "kind", value: (fault) => fault.kind },
            { head: system === "inch" ? "radius, in" : "radius, mm", value: (fault) => fault.radius_m, show: (fault) => radius(fault.radius_m, system), figure: true },
            { head: "angle", value: (fault) => fault.angle_deg, show: (fault) => degrees(fault.angle_deg), figure: true },
            { head: "peak, dB", value: (fault) => fault.peak_dB, show: (fault) => fixed(fault.peak_dB, 1), figure: true },
            { head: "over noise, dB", value: (fault) => fault.excess_dB, show: (fault) => fixed(fault.excess_dB, 1), figure: true },
            { head: "audibility", value: (fault) => fault.audibility },
            { head: "channel", value: (fault) => fault.channel },
            { head: "plane", value: (fault) => fault.plane },
            { head: "pattern", value: (fault) => pattern_words(report, fault) },
            { head: "ear", value: (fault) => ear_words(anyone.get(fault.id)) },
          ]} />
        {report.patterns.length > 0 && (
          <ul class="patterns">
            {report.patterns.map((pattern) => (
              <li key={pattern.id}>{capital(pattern.kind)}{pattern.nature ? `, ${pattern.nature}` : ""}: {pattern.faults.length} faults, turns {pattern.first_revolution} to {pattern.last_revolution}
                {pattern.angle_deg === null ? "" : `, at ${degrees(pattern.angle_deg)}`}</li>
            ))}
          </ul>
        )}
      </section>
      <section aria-label="Ear and engine">
        <h2>Ear and engine</h2>
        <p>Of {count(report.faults.length, "fault")} that the engine found, listeners agreed with {opinions.agreed} and disagreed with {opinions.disagreed}; {opinions.not_judged} not judged yet. They added {opinions.added} that it has not.</p>
        {may_judge
          ? <p class="acts"><button type="button" onClick={() => void judge("agree", null)}>Agree with the verdict</button>
            <button type="button" onClick={() => void judge("disagree", null)}>Disagree with the verdict</button></p>
          : <p class="quiet">Your account may look and listen; judging needs the role of listener or engineer.</p>}
        {opinions.opinions.length > 0 && (
          <details>
            <summary>Every word</summary>
            <Table caption="What listeners said" rows={opinions.opinions} row_key={(one) => one.code}
              columns={[
                { head: "when", value: (one) => one.at_ms, show: (one) => instant(one.at_ms, zone) },
                { head: "who", value: (one) => one.who },
                { head: "word", value: (one) => one.opinion },
                { head: "fault", value: (one) => fault_words(report, one.fault) ?? one.what ?? "the verdict" },
                { head: "time", value: (one) => one.programme_s ?? one.capture_s, show: (one) => (one.programme_s === null ? "–" : clock_ms(one.programme_s)), figure: true },
              ]} />
          </details>
        )}
        {unjudged && may_judge && (
          <p><button type="button" class="main" onClick={() => { choose(unjudged); scrollTo({ top: 0 }); }}>
            Judge the {unjudged.kind} at {clock_s(fault_time_s(report, unjudged))}</button></p>
        )}
        {!unjudged && play.side && <p><button type="button" class="main" onClick={() => go(href("trace", play.side as string))}>Open the trace of side {play.letter}</button></p>}
      </section>
      <div class="columns even">
        <WowPlot report={report} />
        <LevelsPlot report={report} />
      </div>
      <section aria-label="Noise">
        <h2>Noise and hum</h2>
        <dl class="figures">
          <dt>Surface noise</dt><dd>{decibel(report.noise.weighted_dB)} <span class="quiet">{report.noise.weighted_reference}</span></dd>
          <dt>Rumble</dt><dd>{decibel(report.noise.rumble_dB)} <span class="quiet">{report.noise.rumble_reference}</span></dd>
          <dt>Hum</dt><dd>{decibel(report.noise.hum_dB)} <span class="quiet">{report.noise.hum_reference}</span></dd>
          {report.alignment && <><dt>Gain</dt><dd>{signed_decibel(report.alignment.gain_dB, 2)} <span class="quiet">capture against cut, channels {report.alignment.channels}</span></dd></>}
        </dl>
      </section>
      {(report.undetermined.length > 0 || report.remarks.length > 0) && (
        <section aria-label="Not known">
          <h2>What could not be known</h2>
          <ul class="quiet-list">
            {report.undetermined.map((one) => <li key={one.field}>{one.field}: {one.why}</li>)}
            {report.remarks.map((remark) => <li key={remark}>{capital(remark)}</li>)}
          </ul>
        </section>
      )}
    </main>
  );
}

/** The portrait leaves room for the strip beneath it on the same screen. */
function use_tallest(): number {
  const measure = () => Math.min(Math.max(innerHeight - 455, 340), 1400);
  const [tallest, set_tallest] = useState(measure);
  useEffect(() => {
    const follow = () => set_tallest(measure());
    addEventListener("resize", follow);
    return () => removeEventListener("resize", follow);
  }, []);
  return tallest;
}

function after<T>(all: readonly T[], now: T): T {
  return all[(all.indexOf(now) + 1) % all.length] as T;
}

/** Keys that the focused control needs itself stay with it. */
function takes_key(event: KeyboardEvent): boolean {
  const target = event.target as HTMLElement;
  const name = target.tagName;
  if (name === "TEXTAREA" || name === "SELECT") return true;
  if (name === "INPUT") {
    const type = (target as HTMLInputElement).type;
    if (type === "checkbox" || type === "radio") return event.key === " " || (type === "radio" && event.key.startsWith("Arrow"));
    return true;
  }
  if ((name === "BUTTON" || name === "SUMMARY" || name === "A") && event.key === " ") return name !== "A";
  return event.key.startsWith("Arrow") && target.closest(".table-scroll") !== null && !target.closest("tr");
}

function pattern_words(report: HeardSide, fault: Fault): string | null {
  const pattern = report.patterns.find((one) => one.id === fault.pattern);
  return pattern ? `${pattern.kind} ${pattern.id}` : null;
}

function fault_words(report: HeardSide, id: number | null): string | null {
  const fault = report.faults.find((one) => one.id === id);
  return fault ? `${fault.kind} at ${clock_s(fault_time_s(report, fault))}` : null;
}

function ordinal_worst(worst: readonly Fault[], fault: Fault): string {
  const place = worst.indexOf(fault) + 1;
  return place === 1 ? "the worst" : `number ${place} of the worst`;
}

/** Large enough for paper, whatever the screen. */
function save_portrait(report: HeardSide, options: Pick<PortraitOptions, "view" | "landmark_angle_deg" | "shrinkage">, system: UnitSystem): void {
  const size = 700, width = 940, measuring = document.createElement("canvas").getContext("2d");
  if (!measuring) return;
  const pen = new SvgPen(width, size, palette_now().ground, (font, text) => {
    measuring.font = font;
    return measuring.measureText(text);
  });
  const sitting = sit(report, { ...options, system, size, width });
  draw_portrait(pen, sitting, palette_now());
  save(`${report.report}-portrait.svg`, new Blob([pen.text(portrait_words(sitting, system))], { type: "image/svg+xml" }));
}

async function save_png(name: string): Promise<void> {
  const canvas = document.querySelector<HTMLCanvasElement>(".portrait canvas");
  const png = canvas && (await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/png")));
  if (png) save(`${name}-portrait.png`, png);
}

const tap_key = (report: string) => `goodside.taps.${report}`;

function read_taps(report: string): Tap[] {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(tap_key(report)) ?? "[]");
    return Array.isArray(kept) ? kept.filter((one): one is Tap => typeof (one as Tap)?.capture_s === "number") : [];
  } catch {
    return [];
  }
}

function write_taps(report: string, taps: Tap[]): void {
  try {
    if (taps.length > 0) localStorage.setItem(tap_key(report), JSON.stringify(taps));
    else localStorage.removeItem(tap_key(report));
  } catch {
    // A browser that keeps nothing: the taps last as long as the page.
  }
}

/** What was tapped and is not yet entered: a slip is dropped here, since an entry of the record stays. */
function Taps(props: { taps: Tap[]; set_taps: (taps: Tap[]) => void; keep: () => void }) {
  const { taps, set_taps } = props;
  if (taps.length === 0) return null;
  const change = (i: number, tap: Tap | null) => set_taps(taps.flatMap((one, j) => (i !== j ? [one] : tap ? [tap] : [])));
  return (
    <section aria-label="Tapped">
      <h2>Tapped, not yet kept</h2>
      <ul class="taps">
        {taps.map((one, i) => (
          <li key={`${one.capture_s}-${i}`}>
            {clock_ms(one.capture_s)} of the capture{" "}
            {one.fault === null ? (
              <select aria-label="Kind of fault" value={one.kind} onChange={(event) => change(i, { ...one, kind: event.currentTarget.value as Tap["kind"] })}>
                {["tick", "pop", "burst", "dropout", "jump", "repeat", "clip"].map((kind) => <option key={kind}>{kind}</option>)}
              </select>
            ) : <span>the engine's {one.kind}: counts as agreed</span>}{" "}
            <button type="button" class="quiet" onClick={() => change(i, null)}>Drop</button>
          </li>
        ))}
      </ul>
      <p><button type="button" class="main" onClick={props.keep}>Keep {count(taps.length, "tap")}</button></p>
    </section>
  );
}

function Keys(props: { on: boolean; set_on: (on: boolean) => void }) {
  const rows: [string, string][] = [
    ["← →", "fault before, after"], ["Space", "hear it, stop"], ["1 2 3", "capture, cut, difference"], ["A D", "agree, disagree"],
    ["S", "play the side"], ["T", "tap: I hear a fault"], ["M", "channels"], ["+ −", "level"], ["V", "disc, mother, stamper, father"],
  ];
  return (
    <details class="keys">
      <summary>Keys</summary>
      <label class="choice"><input type="checkbox" checked={props.on} onChange={(event) => props.set_on(event.currentTarget.checked)} /> Single keys act</label>
      <dl>{rows.map(([key, what]) => <div key={key}><dt><kbd>{key}</kbd></dt><dd>{what}</dd></div>)}</dl>
    </details>
  );
}
