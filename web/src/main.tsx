import { Component, type ComponentChildren, render } from "preact";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { api, ApiError, type LineNow, path, type Session, type StationName } from "./api";
import { Accounts } from "./Accounts";
import { Bench } from "./bench/Bench";
import { BenchHome } from "./bench/BenchHome";
import { use_kept } from "./hooks";
import { Line } from "./line/Line";
import { begin_live, use_data, use_version } from "./live";
import { Waiting } from "./parts/Notice";
import { type Place, use_place } from "./router";
import { type Settings, SettingsContext } from "./settings";
import { SignIn } from "./SignIn";
import { CalculationPage } from "./stations/CalculationPage";
import { station_of_path } from "./stations/places";
import { StationViews } from "./stations/StationViews";
import { Overlay } from "./subjects/Overlay";
import { SidePage } from "./subjects/SidePage";
import { DiscPage } from "./subjects/DiscPage";
import { OrderPage } from "./subjects/OrderPage";
import { Overview } from "./line/Overview";
import { PartPage } from "./subjects/PartPage";
import { RunPage } from "./subjects/RunPage";
import { ThingPage } from "./subjects/ThingPage";
import { TitlePage } from "./subjects/TitlePage";
import { TraceView } from "./trace/TraceView";
import type { UnitSystem } from "./units";
import { begin_scans } from "./works/scanner";
import { works_view, works_stations } from "./works/views";
import "./style.css";

/** A fault of our own in one view leaves the line and the way to another. */
class Guard extends Component<{ children: ComponentChildren }, { broken: string | null }> {
  override state = { broken: null as string | null };
  static override getDerivedStateFromError(error: unknown) {
    return { broken: error instanceof Error ? error.message : String(error) };
  }
  render() {
    if (this.state.broken === null) return this.props.children;
    return (
      <main id="main" tabIndex={-1} class="desk">
        <h1>This view could not be drawn</h1>
        <p class="problem" role="alert">
          Our own fault: {this.state.broken}. Load the page anew, or open another view.
        </p>
      </main>
    );
  }
}

function View({ place, line }: { place: Place; line: LineNow | null }) {
  const [what, one, other] = place.path;
  const by_hand = works_view(place);
  if (by_hand) return by_hand;
  if (what === undefined) return <Overview line={line} station={null} />;
  if (what === "accounts") return <Accounts />;
  if (what === "bench") return one === undefined ? <BenchHome /> : <Bench report={one} />;
  if (one !== undefined) {
    if (what === "calculate") return <CalculationPage key={one} name={one} query={place.query} />;
    if (what === "station") return <Overview line={line} station={one} />;
    if (what === "side") return <SidePage key={one} code={one} />;
    if (what === "trace") return <TraceView key={one} side={one} />;
    if (what === "title") return <TitlePage code={one} />;
    if (what === "order") return <OrderPage code={one} />;
    if (what === "part") return <PartPage code={one} />;
    if (what === "run") return <RunPage code={one} />;
    if (what === "thing") return <ThingPage code={one} />;
    if (what === "disc" && other !== undefined) return <DiscPage run={one} impression={other} />;
    if (what === "overlay" && other !== undefined) return <Overlay one={one} other={other} />;
  }
  return (
    <main id="main" tabIndex={-1} class="desk">
      <h1>No such page</h1>
      <p>
        <a href="/">To the line</a>
      </p>
    </main>
  );
}

const station_of: Record<string, string> = {
  bench: "bench",
  side: "bench",
  overlay: "bench",
  trace: "bench",
  part: "metal",
  run: "press",
  order: "press",
  ...works_stations,
};

function Signed({ session }: { session: Session }) {
  const place = use_place();
  const line = use_data<LineNow>(path.line);
  const { lost } = use_version();
  const [system, set_system] = use_kept<UnitSystem>("units", "metric");
  useEffect(begin_live, []);
  useEffect(begin_scans, []);
  const settings = useMemo<Settings>(
    () => ({ session, zone: line.data?.zone ?? "UTC", works: line.data?.works ?? "", system, set_system }),
    [session, line.data?.zone, line.data?.works, system],
  );
  const what = place.path[0] ?? "";
  const where = place.path.join("/");
  // Another view begins at its top for those who hear the page, too.
  const first = useRef(true);
  useEffect(() => {
    if (!first.current) document.getElementById("main")?.focus({ preventScroll: true });
    first.current = false;
  }, [where]);
  const path_now = `/${where}`;
  const station = station_of_path(path_now);
  const here =
    what === "station" ? (place.path[1] ?? "") : (station_of[what] ?? (station === "works" ? "" : (station ?? "")));
  const order =
    line.data?.orders.find(
      (one) => (what === "order" && one.code === place.path[1]) || (what === "title" && one.title === place.path[1]),
    ) ?? null;
  useEffect(() => {
    const subject = [place.path[1], what].filter(Boolean).join(" · ");
    document.title = [subject, line.data?.works || "goodside"].filter(Boolean).join(" · ");
  }, [place, line.data?.works]);
  return (
    <SettingsContext.Provider value={settings}>
      <Line line={line.data} here={here} session={session} order={order} />
      <StationViews station={(here || "works") as StationName | "works"} path={path_now} />
      {lost && (
        <p class="problem lost" role="alert">
          The server does not answer. What is shown may be old; the page tries again by itself.
        </p>
      )}
      <Guard key={where}>
        <View place={place} line={line.data} />
      </Guard>
    </SettingsContext.Provider>
  );
}

function Page() {
  const [session, set_session] = useState<Session | null>(null);
  const [problem, set_problem] = useState<string | null>(null);
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined;
    const ask = () =>
      api.get<Session>("/api/session").then(
        (now) => {
          set_problem(null);
          set_session(api.take_session(now));
        },
        (error: unknown) => {
          set_problem(error instanceof ApiError ? error.message : String(error));
          timer = setTimeout(ask, 3000);
        },
      );
    api.on_signed_out = () => void ask();
    void ask();
    return () => clearTimeout(timer);
  }, []);
  if (!session)
    return (
      <main id="main" tabIndex={-1} class="sign-in">
        {problem ? (
          <p class="problem" role="alert">
            {problem}
          </p>
        ) : (
          <Waiting what="the works" />
        )}
      </main>
    );
  if (!session.signed_in) return <SignIn session={session} on_in={set_session} />;
  return <Signed session={session} />;
}

const page = document.getElementById("page");
if (page) render(<Page />, page);
