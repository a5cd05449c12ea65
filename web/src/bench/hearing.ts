// What the bench's view holds on to while it is open: the player and where it plays, and the keys.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Heard } from "../api";
import { Player } from "./player";

/** The player of this side, and the capture time that is heard now, followed frame by frame. */
export function use_player(
  code: string,
  audio: Heard["audio"],
  on_error: (error: unknown) => void,
): { player: Player; position_s: number | null } {
  const player = useMemo(() => new Player(code, audio), [code]);
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

/** Keys that the focused control needs itself stay with it. */
function takes_key(event: KeyboardEvent): boolean {
  const target = event.target as HTMLElement;
  const name = target.tagName;
  if (name === "TEXTAREA" || name === "SELECT") return true;
  if (name === "INPUT") {
    const { type } = target as HTMLInputElement;
    if (type === "checkbox") return event.key === " ";
    if (type === "radio") return event.key === " " || event.key.startsWith("Arrow");
    return true;
  }
  if (name === "BUTTON" || name === "SUMMARY") return event.key === " ";
  return event.key.startsWith("Arrow") && target.classList.contains("table-scroll");
}

/** Single keys act while `on`; WCAG 2.1.4 asks that they can be turned off. */
export function use_keys(on: boolean, acts: Record<string, () => void>): void {
  const now = useRef(acts);
  now.current = acts;
  useEffect(() => {
    if (!on) return;
    const press = (event: KeyboardEvent) => {
      if (event.ctrlKey || event.metaKey || event.altKey || takes_key(event)) return;
      const act = now.current[event.key.length === 1 ? event.key.toLowerCase() : event.key];
      if (!act) return;
      event.preventDefault();
      act();
    };
    document.addEventListener("keydown", press);
    return () => document.removeEventListener("keydown", press);
  }, [on]);
}
