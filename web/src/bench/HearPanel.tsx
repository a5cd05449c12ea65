import type { Heard, Opinion } from "../api";
import type { Fault } from "../contracts";
import { capital, clock_s, signed } from "../units";
import { channel_words, type Channels, highest_dB, lowest_dB, type Player, sounds } from "./player";

/** Hearing the chosen fault in a loop or the side through, with sound, level and channels; agreeing or not. */
export function HearPanel(props: {
  player: Player;
  audio: Heard["audio"];
  fault: Fault | null;
  mine: Opinion | undefined;
  may_judge: boolean;
  about: string;
  set_about: (about: string) => void;
  start_time_s: number;
  said: string;
  play_fault: () => void;
  play_side: () => void;
  judge: (opinion: "agree" | "disagree") => void;
  tap: () => void;
  keys_on: boolean;
  set_keys_on: (on: boolean) => void;
}) {
  const { player, audio, fault, mine, may_judge } = props;
  return (
    <section aria-label="Hear" class="hear">
      {fault && (
        <p class="acts">
          <button type="button" class="main" disabled={!audio.capture} onClick={props.play_fault}>
            {player.playing === "window" ? "Stop" : `Hear this ${fault.kind}, looped`}
          </button>
          <button
            type="button"
            disabled={!may_judge}
            aria-pressed={mine?.opinion === "agree"}
            onClick={() => props.judge("agree")}
          >
            Agree
          </button>
          <button
            type="button"
            disabled={!may_judge}
            aria-pressed={mine?.opinion === "disagree"}
            onClick={() => props.judge("disagree")}
          >
            Disagree
          </button>
        </p>
      )}
      <fieldset class="choices">
        <legend>Sound</legend>
        {sounds.map((sound) => (
          <label key={sound} class="choice">
            <input
              type="radio"
              name="sound"
              checked={player.sound === sound}
              disabled={!audio[sound]}
              onChange={() => player.choose_sound(sound)}
            />{" "}
            {capital(sound)}
          </label>
        ))}
      </fieldset>
      {audio.why && <p class="quiet">{capital(audio.why)}</p>}
      <div class="fields">
        <label>
          Level {signed(player.level_dB, 0)}
          {"\u2009"}dB
          <input
            type="range"
            min={lowest_dB}
            max={highest_dB}
            step="1"
            value={player.level_dB}
            onInput={(event) => player.set_level(Number(event.currentTarget.value))}
          />
        </label>
        <label>
          Channels
          <select
            value={player.channels}
            onChange={(event) => player.set_channels(event.currentTarget.value as Channels)}
          >
            {(Object.keys(channel_words) as Channels[]).map((one) => (
              <option key={one} value={one}>
                {channel_words[one]}
              </option>
            ))}
          </select>
        </label>
        <label>
          Around the fault
          <select value={props.about} onChange={(event) => props.set_about(event.currentTarget.value)}>
            {["0.5", "1", "2", "5", "10"].map((one) => (
              <option key={one} value={one}>
                {one}
                {"\u2009"}s
              </option>
            ))}
          </select>
        </label>
      </div>
      <p class="caution">Headphones: begin quietly. A difference turned up can hold a loud pop.</p>
      <p class="acts">
        <button type="button" disabled={!audio.capture} onClick={props.play_side}>
          {player.playing === "side" ? "Stop the side" : `Play the side from ${clock_s(props.start_time_s)}`}
        </button>
        <button type="button" disabled={player.playing === null || !may_judge} onClick={props.tap}>
          Tap: I hear a fault
        </button>
      </p>
      <p role="status" class="said">
        {props.said}
      </p>
      <Keys on={props.keys_on} set_on={props.set_keys_on} />
    </section>
  );
}

function Keys(props: { on: boolean; set_on: (on: boolean) => void }) {
  const rows: [string, string][] = [
    ["← →", "fault before, after"],
    ["Space", "hear it, stop"],
    ["1 2 3", "capture, cut, difference"],
    ["A D", "agree, disagree"],
    ["S", "play the side"],
    ["T", "tap: I hear a fault"],
    ["M", "channels"],
    ["+ −", "level"],
    ["V", "disc, mother, stamper, father"],
  ];
  return (
    <details class="keys">
      <summary>Keys</summary>
      <label class="choice">
        <input type="checkbox" checked={props.on} onChange={(event) => props.set_on(event.currentTarget.checked)} />{" "}
        Single keys act
      </label>
      <dl>
        {rows.map(([key, what]) => (
          <div key={key}>
            <dt>
              <kbd>{key}</kbd>
            </dt>
            <dd>{what}</dd>
          </div>
        ))}
      </dl>
    </details>
  );
}
