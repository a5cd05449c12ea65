import { useEffect, useRef, useState } from "preact/hooks";
import { api, type Hit, type LineNow, type OrderStanding, path, type Session, type StationName } from "../api";
import { Shape, state_words } from "../parts/State";
import { go, href } from "../router";
import { use_settings } from "../settings";
import { capital, counted } from "../units";

const homes: Record<StationName, string> = {
  metal: "/station/metal",
  compound: "/station/compound",
  press: "/station/press",
  bench: "/bench",
  store: "/station/store",
  dispatch: "/station/dispatch",
};

/** Where an order stands: the first station that still has something to do for it. */
export function station_of_order(order: OrderStanding): StationName {
  const { counts, heard } = order;
  if (order.impressions === 0) return "metal";
  if (heard.waiting > 0) return "bench";
  if (order.done < order.quantity) return "press";
  return counts.suspect > 0 || counts.good_stock > 0 ? "store" : "dispatch";
}

/** The line across the top: one continuous groove, a mark for each station with what waits and the worst state there. */
export function Line({
  line,
  here,
  session,
  order,
}: {
  line: LineNow | null;
  here: string;
  session: Session;
  order: OrderStanding | null;
}) {
  const { system, set_system } = use_settings();
  const stations =
    line?.stations ??
    (["metal", "compound", "press", "bench", "store", "dispatch"] as StationName[]).map((station) => ({
      station,
      waiting: 0,
      waiting_for: "",
      state: "unknown" as const,
      detail: [],
    }));
  const sign_out = async () => {
    await api.post("/api/sign-out");
    location.assign("/");
  };
  return (
    <header class="line">
      <a class="unseen-until-focus" href="#main">
        To the content
      </a>
      <div class="line-top">
        <a href="/" class="works" aria-label={`${line?.works ?? "goodside"}, the whole line`}>
          {line?.works || "goodside"}
        </a>
        <Search />
        <div class="line-tools">
          <label>
            Units{" "}
            <select value={system} onChange={(event) => set_system(event.currentTarget.value as "metric" | "inch")}>
              <option value="metric">mm</option>
              <option value="inch">inch</option>
            </select>
          </label>
          <a class="who" href="/accounts">
            {session.name}
          </a>
          <button type="button" class="quiet" onClick={() => void sign_out()}>
            Sign out
          </button>
        </div>
      </div>
      <nav aria-label="The line">
        <ol class="groove">
          {stations.map((one) => (
            <li key={one.station}>
              <a
                href={homes[one.station]}
                aria-current={here === one.station ? "page" : undefined}
                title={one.detail.join(" ")}
              >
                <span class="station-mark">
                  <Shape state={one.state} size="1.25em" />
                </span>
                <span class="station-name">{capital(one.station)}</span>
                <span class="station-waits">
                  {one.waiting > 0 ? counted(one.waiting, one.waiting_for) : (one.detail[0] ?? "nothing waits")}
                </span>
                {order && station_of_order(order) === one.station && <span class="order-mark">◆ {order.code}</span>}
                <span class="unseen">, worst state: {state_words[one.state]}</span>
              </a>
            </li>
          ))}
        </ol>
      </nav>
    </header>
  );
}

export function home_of(hit: Hit): string {
  const code = hit.code;
  switch (hit.kind) {
    case "title":
      return href("title", code);
    case "order":
    case "orders":
      return href("order", code);
    case "part":
      return href("part", code);
    case "run":
      return href("run", code);
    case "side":
      return href("side", code);
    case "report":
      return href("bench", code);
    default:
      return href("thing", code);
  }
}

/** Takes any number found on a part, a carton or a label. */
function Search() {
  const [q, set_q] = useState("");
  const [hits, set_hits] = useState<Hit[] | null>(null);
  const [at, set_at] = useState(-1);
  const [failed, set_failed] = useState("");
  const box = useRef<HTMLFormElement>(null);
  useEffect(() => {
    const wanted = q.trim();
    set_at(-1);
    if (wanted.length < 2) return set_hits(null);
    const stop = new AbortController();
    const timer = setTimeout(() => {
      api.get<{ hits: Hit[] }>(path.search(wanted), stop.signal).then(
        (found) => {
          set_hits(found.hits);
          set_failed("");
        },
        (error: unknown) => {
          if (!stop.signal.aborted) {
            set_hits(null);
            set_failed(error instanceof Error ? error.message : String(error));
          }
        },
      );
    }, 120);
    return () => {
      clearTimeout(timer);
      stop.abort();
    };
  }, [q]);
  useEffect(() => {
    const outside = (event: MouseEvent) => {
      if (!box.current?.contains(event.target as Node)) set_hits(null);
    };
    document.addEventListener("mousedown", outside);
    return () => document.removeEventListener("mousedown", outside);
  }, []);
  const open = (hit: Hit | undefined) => {
    if (!hit) return;
    set_hits(null);
    set_q("");
    go(home_of(hit));
  };
  const press = (event: KeyboardEvent) => {
    if (!hits) return;
    if (event.key === "ArrowDown") set_at(Math.min(at + 1, hits.length - 1));
    else if (event.key === "ArrowUp") set_at(Math.max(at - 1, 0));
    else if (event.key === "Escape") set_hits(null);
    else return;
    event.preventDefault();
  };
  return (
    <form
      class="search"
      role="search"
      ref={box}
      onSubmit={(event) => {
        event.preventDefault();
        open(hits?.[Math.max(at, 0)]);
      }}
    >
      <label class="unseen" for="search">
        Any number on a part, a carton or a label
      </label>
      <input
        id="search"
        type="search"
        autocomplete="off"
        placeholder="Any number or name"
        value={q}
        role="combobox"
        aria-expanded={hits !== null}
        aria-controls="search-hits"
        aria-activedescendant={at >= 0 ? `hit-${at}` : undefined}
        aria-autocomplete="list"
        onInput={(event) => set_q(event.currentTarget.value)}
        onKeyDown={press}
      />
      <button type="submit">Find</button>
      <ul id="search-hits" role="listbox" aria-label="Found" hidden={!hits || hits.length === 0}>
        {(hits ?? []).map((hit, i) => (
          <li
            key={`${hit.kind}-${hit.code}`}
            id={`hit-${i}`}
            role="option"
            aria-selected={i === at}
            onMouseDown={(event) => {
              event.preventDefault();
              open(hit);
            }}
          >
            <span class="quiet">{hit.kind}</span> <b>{hit.code}</b> {hit.label} <span class="quiet">{hit.detail}</span>
          </li>
        ))}
      </ul>
      <span role="status" class={hits && hits.length === 0 ? "nothing" : failed ? "nothing" : "unseen"}>
        {failed || (hits ? (hits.length === 0 ? `Nothing is called “${q.trim()}”.` : `${hits.length} found`) : "")}
      </span>
    </form>
  );
}
