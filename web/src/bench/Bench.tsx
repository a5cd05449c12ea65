import { useCallback, useEffect, useMemo, useState } from "preact/hooks";
import { api, type Heard, type Opinion, type Opinions, path } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { use_kept } from "../hooks";
import { tell_changed, use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { type View, views } from "../portrait/geometry";
import { may, use_settings } from "../settings";
import { capital, clock_ms, clock_s, worst_first } from "../units";
import { clock_of, fault_time_s } from "./clock";
import { said_of, said_of_verdict, type Tap, tap_at } from "./ear";
import { EarAndEngine } from "./EarAndEngine";
import { ChosenFault, Why } from "./FaultPanel";
import { FaultTable } from "./FaultTable";
import { Figures } from "./Figures";
import { Head } from "./Head";
import { use_keys, use_player } from "./hearing";
import { HearPanel } from "./HearPanel";
import { channel_words, type Channels, type Window } from "./player";
import { LevelsPlot, WowPlot } from "./plots";
import { PortraitPanel } from "./PortraitPanel";
import { CloseUp, Strip } from "./Strip";
import { Taps, use_taps } from "./Taps";

export function Bench({ report: code }: { report: string }) {
  const heard = use_data<Heard>(path.heard(code));
  const portrait = use_data<HeardSide>(path.portrait(code));
  const error = portrait.error ?? heard.error;
  if (!portrait.data || !heard.data)
    return (
      <main id="main" tabIndex={-1} class="bench">
        {error ? <Problem error={error} again={portrait.again} /> : <Waiting what="the heard side" />}
      </main>
    );
  return <HeardBench key={code} report={portrait.data} heard={heard.data} />;
}

/** `seconds` about a fault, within the capture. */
export function window_of(fault: Fault, seconds: number, duration_s: number): [number, number] {
  const from_s = Math.max(0, Math.min(fault.capture_s - seconds / 2, duration_s - seconds));
  return [from_s, Math.min(from_s + seconds, duration_s)];
}

function after<T>(all: readonly T[], now: T): T {
  return all[(all.indexOf(now) + 1) % all.length] as T;
}

function HeardBench({ report, heard }: { report: HeardSide; heard: Heard }) {
  const { session } = use_settings();
  const [view, set_view] = use_kept<View>("view", "disc");
  const [keys, set_keys] = use_kept<"on" | "off">("keys", "on");
  const [about, set_about] = use_kept<string>("about", "2");
  const by_time = useMemo(
    () => [...report.faults].sort((a, b) => fault_time_s(report, a) - fault_time_s(report, b)),
    [report],
  );
  const worst = useMemo(() => worst_first(report.faults).map((i) => report.faults[i] as Fault), [report]);
  const clock = useMemo(() => clock_of(report), [report]);
  const [chosen_id, set_chosen_id] = useState<number | null>(worst[0]?.id ?? null);
  const chosen = report.faults.find((fault) => fault.id === chosen_id) ?? null;
  const [start_s, set_start_s] = useState(Math.max(report.programme_start_s ?? 0, 0));
  const [said, set_said] = useState("");
  const [problem, set_problem] = useState<string | null>(null);
  const [close_up, set_close_up] = useState<Window | null>(null);
  const [taps, set_taps] = use_taps(report.report);
  const fail = useCallback((error: unknown) => set_problem(error instanceof Error ? error.message : String(error)), []);
  const { player, position_s } = use_player(report.report, heard.audio, fail);
  const { opinions } = heard.opinions;
  const mine = useMemo(() => said_of(opinions, session.name), [opinions, session.name]);
  const of_verdict = useMemo(() => said_of_verdict(opinions, session.name ?? ""), [opinions, session.name]);
  const anyone = useMemo(() => said_of(opinions, null), [opinions]);
  const added = useMemo(() => opinions.filter((one) => one.opinion === "added"), [opinions]);
  const may_judge = may(session, "listener", "engineer");
  const window_s = (fault: Fault) => window_of(fault, Number(about) || 2, report.duration_s);

  // The chosen fault's sounds are fetched at once, so that a key plays them without waiting.
  useEffect(() => {
    if (!chosen || !heard.audio.capture) return;
    let here = true;
    const [from_s, to_s] = window_s(chosen);
    player.load(from_s, to_s).then(
      (loaded) => here && set_close_up(loaded),
      (error: unknown) => here && fail(error),
    );
    if (player.playing === "window") player.play_window(from_s, to_s).catch(fail);
    return () => {
      here = false;
    };
  }, [chosen_id, about, player]);

  const choose = useCallback((fault: Fault) => {
    set_chosen_id(fault.id);
    set_start_s(Math.max(fault.capture_s - 2, 0));
  }, []);
  const step = (by: number) => {
    const at = by_time.findIndex((fault) => fault.id === chosen_id);
    const next = by_time[Math.min(Math.max(at + by, 0), by_time.length - 1)];
    if (next) choose(next);
  };
  const play_fault = () => {
    set_problem(null);
    if (player.playing === "window") player.stop();
    else if (chosen && heard.audio.capture) player.play_window(...window_s(chosen)).catch(fail);
  };
  const play_side = () => {
    set_problem(null);
    if (player.playing === "side") player.stop();
    else if (heard.audio.capture) player.play_side(start_s, report.duration_s);
  };
  const enter = async (body: unknown, words: string) => {
    try {
      await api.post<Opinions>(path.opinions(report.report), body);
      set_said(words);
      set_problem(null);
      tell_changed();
      return true;
    } catch (error) {
      fail(error);
      return false;
    }
  };
  const take_back = async (said: Opinion) => {
    try {
      await api.post<Opinions>(path.take_back(report.report, said.code), {});
      set_said("Taken back.");
      set_problem(null);
      tell_changed();
    } catch (error) {
      fail(error);
    }
  };
  /** Of a fault, or of the verdict as a whole; the same again takes it back. */
  const judge = (opinion: "agree" | "disagree", fault: Fault | null) => {
    if (!may_judge) return;
    const before = fault ? mine.get(fault.id) : of_verdict;
    if (before?.opinion === opinion) return void take_back(before);
    const of = fault ? `the ${fault.kind} at ${clock_s(fault_time_s(report, fault))}` : "the verdict";
    void enter(
      fault ? { opinion, fault: fault.id } : { opinion },
      `${opinion === "agree" ? "Agreed" : "Disagreed"} with ${of}.`,
    );
  };
  const tap = () => {
    const at_s = player.position_s();
    if (at_s === null) return set_said("Play the side first: a tap marks what is heard at that moment.");
    const made = tap_at(at_s, report.faults);
    set_taps((before) => [...before, made]);
    set_said(
      made.fault === null
        ? `Tapped at ${clock_ms(made.capture_s)} of the capture.`
        : `Tapped: the ${made.kind} at ${clock_ms(made.capture_s)}, which the engine has too.`,
    );
  };
  const keep_taps = async () => {
    for (const one of taps) {
      const body =
        one.fault === null
          ? { opinion: "added", capture_s: one.capture_s, what: one.kind }
          : { opinion: "agree", fault: one.fault };
      if (!(await enter(body, "Kept."))) return;
      set_taps((before) => before.filter((other: Tap) => other !== one));
    }
  };

  use_keys(keys === "on", {
    ArrowLeft: () => step(-1),
    ArrowRight: () => step(1),
    " ": play_fault,
    s: play_side,
    "1": () => player.choose_sound("capture"),
    "2": () => player.choose_sound("cut"),
    "3": () => player.choose_sound("difference"),
    a: () => chosen && judge("agree", chosen),
    d: () => chosen && judge("disagree", chosen),
    t: tap,
    m: () => player.set_channels(after(Object.keys(channel_words) as Channels[], player.channels)),
    v: () => set_view(after(views, view)),
    "+": () => player.set_level(player.level_dB + 3),
    "=": () => player.set_level(player.level_dB + 3),
    "-": () => player.set_level(player.level_dB - 3),
  });

  const playing_time_s = position_s === null ? null : clock.of_capture(position_s);
  const unjudged = worst.find((fault) => !anyone.has(fault.id) && fault.audibility === "plain") ?? null;
  // What does not move with the stylus is not drawn anew with it.
  const still = useMemo(
    () => (
      <>
        <FaultTable report={report} worst={worst} chosen={chosen_id} choose={choose} words={anyone} />
        <EarAndEngine
          report={report}
          heard={heard}
          unjudged={unjudged}
          may_judge={may_judge}
          judge={(opinion) => judge(opinion, null)}
          mine={of_verdict}
          take_back={(said) => void take_back(said)}
          choose={choose}
        />
        <div class="columns even">
          <WowPlot report={report} limits={heard.limits} />
          <LevelsPlot report={report} />
        </div>
        <Figures report={report} />
      </>
    ),
    [report, heard, chosen_id, may_judge],
  );
  return (
    <main id="main" tabIndex={-1} class="bench">
      <Head report={report} heard={heard} />
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
      <div class="columns">
        <PortraitPanel
          report={report}
          view={view}
          set_view={set_view}
          chosen={chosen}
          choose={choose}
          playing_programme_s={playing_time_s}
          stamper={heard.play.stamper}
        >
          <section aria-label="In time" class="in-time">
            <h2>In time</h2>
            <Strip
              report={report}
              chosen={chosen}
              playing_s={playing_time_s}
              on_choose={choose}
              own={added}
              on_place={(time_s) => set_start_s(Math.min(Math.max(clock.to_capture(time_s), 0), report.duration_s))}
            />
            <p class="quiet">
              {capital(clock.words)}. Stems are faults, higher is louder; copper bars are patterns, open copper diamonds
              what listeners added; the band beneath is the noise of each turn. Click a stem to choose it, elsewhere to
              play from there.
            </p>
            {chosen && heard.audio.capture && (
              <CloseUp
                window={close_up}
                report={report}
                fault={chosen}
                playing_capture_s={player.playing === "window" ? position_s : null}
                sound={player.sound}
              />
            )}
          </section>
        </PortraitPanel>
        <div class="side-part">
          <Why report={report} />
          {chosen && (
            <ChosenFault
              report={report}
              fault={chosen}
              in_time={by_time.indexOf(chosen) + 1}
              of={by_time.length}
              rank={worst.indexOf(chosen) + 1}
              side={heard.play.side}
              step={step}
            />
          )}
          <HearPanel
            player={player}
            audio={heard.audio}
            fault={chosen}
            mine={chosen ? mine.get(chosen.id) : undefined}
            may_judge={may_judge}
            about={about}
            set_about={set_about}
            start_time_s={clock.of_capture(start_s)}
            said={said}
            play_fault={play_fault}
            play_side={play_side}
            judge={(opinion) => judge(opinion, chosen)}
            tap={tap}
            keys_on={keys === "on"}
            set_keys_on={(on) => set_keys(on ? "on" : "off")}
          />
        </div>
      </div>
      <Taps taps={taps} set_taps={set_taps} keep={() => void keep_taps()} />
      {still}
    </main>
  );
}
