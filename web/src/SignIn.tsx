import { useState } from "preact/hooks";
import { api, ApiError, type Session } from "./api";

/** Signing in; at the first start, with the one-time link, making the first account. */
export function SignIn({ session, on_in }: { session: Session; on_in: (session: Session) => void }) {
  const token = /^#first=(.+)$/.exec(location.hash)?.[1] ?? null;
  const first = session.first_start && token !== null;
  const [name, set_name] = useState("");
  const [password, set_password] = useState("");
  const [problem, set_problem] = useState<string | null>(null);
  const [busy, set_busy] = useState(false);
  const submit = async (event: SubmitEvent) => {
    event.preventDefault();
    set_busy(true);
    try {
      const made = first
        ? await api.post<Session>("/api/first", { token: decodeURIComponent(token), name, password })
        : await api.post<Session>("/api/sign-in", { name, password });
      if (first) history.replaceState(null, "", "/");
      on_in(api.take_session(made));
    } catch (error) {
      const wait =
        error instanceof ApiError && error.retry_after_s !== null ? ` Try again in ${error.retry_after_s}\u2009s.` : "";
      set_problem((error instanceof Error ? error.message : String(error)) + wait);
      set_busy(false);
    }
  };
  return (
    <main id="main" tabIndex={-1} class="sign-in">
      <h1>{first ? "The first account" : "Sign in"}</h1>
      {first && <p>This link works once. The account that it makes may do everything, and makes the others.</p>}
      {session.first_start && token === null && (
        <p class="problem">No account is there yet. Open the one-time link that the server printed when it started.</p>
      )}
      <form onSubmit={submit}>
        <label>
          Name
          <input
            name="name"
            autocomplete="username"
            required
            value={name}
            onInput={(event) => set_name(event.currentTarget.value)}
          />
        </label>
        <label>
          Password{first && ", at least 10 characters"}
          <input
            name="password"
            type="password"
            autocomplete={first ? "new-password" : "current-password"}
            required
            minLength={first ? 10 : 1}
            value={password}
            onInput={(event) => set_password(event.currentTarget.value)}
          />
        </label>
        {problem && (
          <p class="problem" role="alert">
            {problem}
          </p>
        )}
        <button type="submit" class="main" disabled={busy}>
          {first ? "Make the first account" : "Sign in"}
        </button>
      </form>
    </main>
  );
}
