import { useCallback, useEffect, useState } from "preact/hooks";
import { api, ApiError, type RecordState } from "./api";

/** What the newest state said: grows whenever the record or a job moves. */
let version = "";
let lost = false;
const listeners = new Set<() => void>();
const poll_ms = 1500;
let timer: ReturnType<typeof setTimeout> | undefined;

async function look(): Promise<void> {
  try {
    const state = await api.get<RecordState>("/api/state");
    const now = `${state.record.seq}:${state.record.hash}:${state.jobs}`;
    if (now !== version || lost) {
      version = now;
      lost = false;
      for (const tell of listeners) tell();
    }
  } catch (error) {
    const gone = error instanceof ApiError && error.status === 0;
    if (gone && !lost) {
      lost = true;
      for (const tell of listeners) tell();
    }
  }
}

/** Polls while the page is seen; a hidden page asks nothing. */
export function begin_live(): () => void {
  const turn = async () => {
    if (document.visibilityState === "visible") await look();
    timer = setTimeout(turn, lost ? 4 * poll_ms : poll_ms);
  };
  void turn();
  return () => clearTimeout(timer);
}

export function tell_changed(): void {
  void look();
}

export function use_version(): { version: string; lost: boolean } {
  const [, redraw] = useState(0);
  useEffect(() => {
    const tell = () => redraw((n) => n + 1);
    listeners.add(tell);
    return () => void listeners.delete(tell);
  }, []);
  return { version, lost };
}

export interface Loaded<T> {
  data: T | null;
  error: ApiError | null;
  again: () => void;
}

/** A GET's answer, followed as the record and its jobs move; null as path asks for nothing. */
export function use_data<T>(path: string | null): Loaded<T> {
  const { version: now } = use_version();
  const [asked, set_asked] = useState(0);
  const [shown, set_shown] = useState<{ path: string | null; data: T | null; error: ApiError | null }>({
    path: null,
    data: null,
    error: null,
  });
  useEffect(() => {
    if (path === null) return;
    const stop = new AbortController();
    api.get<T>(path, stop.signal).then(
      (data) =>
        set_shown((before) =>
          before.path === path && before.data === data && !before.error ? before : { path, data, error: null },
        ),
      (error: unknown) => {
        if (stop.signal.aborted) return;
        const told = error instanceof ApiError ? error : new ApiError(0, String(error));
        set_shown((before) => ({ path, data: before.path === path ? before.data : null, error: told }));
      },
    );
    return () => stop.abort();
  }, [path, now, asked]);
  const again = useCallback(() => set_asked((n) => n + 1), []);
  if (path === null) return { data: null, error: null, again };
  const is_this = shown.path === path;
  return { data: is_this ? shown.data : api.peek<T>(path), error: is_this ? shown.error : null, again };
}
