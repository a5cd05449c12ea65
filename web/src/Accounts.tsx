import { useState } from "preact/hooks";
import { type Account, api, path, type Role, type Session } from "./api";
import { use_data } from "./live";
import { Problem, Waiting } from "./parts/Notice";
import { Table } from "./parts/Table";
import { may, use_settings } from "./settings";
import { instant } from "./units";

const roles: readonly { role: Role; may: string }[] = [
  { role: "viewer", may: "looks" },
  { role: "listener", may: "hears and judges" },
  { role: "station", may: "brings captures, holds stock" },
  { role: "engineer", may: "does everything" },
  { role: "clerk", may: "packs and ships" },
];

/** One's own password, and for an engineer everybody's account. */
export function Accounts() {
  const { session } = use_settings();
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <h1>{session.name}</h1>
        <p class="counts">{session.roles.join(", ") || "no role yet"}</p>
      </header>
      <OwnPassword />
      {may(session, "engineer") && <Everybody />}
    </main>
  );
}

function use_act(): [string | null, string, (what: () => Promise<unknown>, done: string) => Promise<boolean>] {
  const [problem, set_problem] = useState<string | null>(null);
  const [said, set_said] = useState("");
  const act = async (what: () => Promise<unknown>, done: string) => {
    try {
      await what();
      set_problem(null);
      set_said(done);
      return true;
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
      set_said("");
      return false;
    }
  };
  return [problem, said, act];
}

function OwnPassword() {
  const [old_one, set_old] = useState(""),
    [new_one, set_new] = useState("");
  const [problem, said, act] = use_act();
  const submit = async (event: SubmitEvent) => {
    event.preventDefault();
    const done = await act(
      async () => api.take_session(await api.post<Session>("/api/password", { old: old_one, new: new_one })),
      "Your password is changed.",
    );
    if (done) [set_old, set_new].forEach((clear) => clear(""));
  };
  return (
    <section aria-label="Your password">
      <h2>Your password</h2>
      <form class="fields" onSubmit={(event) => void submit(event)}>
        <label>
          Now
          <input
            type="password"
            autocomplete="current-password"
            required
            value={old_one}
            onInput={(event) => set_old(event.currentTarget.value)}
          />
        </label>
        <label>
          New, at least 10 characters
          <input
            type="password"
            autocomplete="new-password"
            required
            minLength={10}
            value={new_one}
            onInput={(event) => set_new(event.currentTarget.value)}
          />
        </label>
        <button type="submit">Change my password</button>
      </form>
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
      <p role="status">{said}</p>
    </section>
  );
}

function Everybody() {
  const { zone } = use_settings();
  const data = use_data<{ accounts: Account[] }>(path.accounts);
  const [problem, said, act] = use_act();
  const [name, set_name] = useState(""),
    [password, set_password] = useState(""),
    [given, set_given] = useState<Role[]>(["listener"]);
  const change = (account: Account, by: Partial<Pick<Account, "roles" | "disabled">>, done: string) =>
    act(() => api.post(`${path.accounts}/${encodeURIComponent(account.name)}`, by, "PUT"), done).then(data.again);
  const add = async (event: SubmitEvent) => {
    event.preventDefault();
    if (await act(() => api.post(path.accounts, { name, password, roles: given }), `${name} has an account.`))
      [set_name, set_password].forEach((clear) => clear(""));
    data.again();
  };
  const toggled = (all: Role[], role: Role) =>
    all.includes(role) ? all.filter((one) => one !== role) : [...all, role];
  return (
    <section aria-label="Accounts">
      <h2>Accounts</h2>
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
      <p role="status">{said}</p>
      {data.error ? (
        <Problem error={data.error} again={data.again} />
      ) : !data.data ? (
        <Waiting what="the accounts" />
      ) : (
        <Table
          caption="Accounts"
          hide_caption
          rows={data.data.accounts}
          row_key={(one) => one.name}
          columns={[
            { head: "name", value: (one) => one.name },
            ...roles.map(({ role }) => ({
              head: role,
              value: (one: Account) => (one.roles.includes(role) ? "yes" : ""),
              show: (one: Account) => (
                <label class="choice">
                  <input
                    type="checkbox"
                    checked={one.roles.includes(role)}
                    onChange={() => void change(one, { roles: toggled(one.roles, role) }, `${one.name} is changed.`)}
                  />
                  <span class="unseen">
                    {one.name} is {role}
                  </span>
                </label>
              ),
            })),
            {
              head: "last seen",
              value: (one) => one.last_seen_ms,
              show: (one) => (one.last_seen_ms === null ? "–" : instant(one.last_seen_ms, zone)),
            },
            {
              head: "state",
              value: (one) => (one.disabled ? "shut" : "open"),
              show: (one) => (
                <button
                  type="button"
                  class="quiet"
                  onClick={() =>
                    void change(one, { disabled: !one.disabled }, `${one.name} is ${one.disabled ? "open" : "shut"}.`)
                  }
                >
                  {one.disabled ? "Open" : "Shut"}
                  <span class="unseen"> the account of {one.name}</span>
                </button>
              ),
            },
          ]}
        />
      )}
      <h3>A new account</h3>
      <form onSubmit={(event) => void add(event)}>
        <div class="fields">
          <label>
            Name
            <input required autocomplete="off" value={name} onInput={(event) => set_name(event.currentTarget.value)} />
          </label>
          <label>
            Password, at least 10 characters
            <input
              type="password"
              required
              minLength={10}
              autocomplete="new-password"
              value={password}
              onInput={(event) => set_password(event.currentTarget.value)}
            />
          </label>
        </div>
        <fieldset class="choices">
          <legend>Roles</legend>
          {roles.map((one) => (
            <label key={one.role} class="choice">
              <input
                type="checkbox"
                checked={given.includes(one.role)}
                onChange={() => set_given(toggled(given, one.role))}
              />{" "}
              {one.role} <span class="quiet">({one.may})</span>
            </label>
          ))}
        </fieldset>
        <button type="submit" class="main">
          Make the account
        </button>
      </form>
    </section>
  );
}
