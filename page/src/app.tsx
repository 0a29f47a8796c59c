// The frame of the page: who is signed in decides what is shown, the address which view.
import { useEffect, useRef } from "preact/hooks";
import { asProblem, call, type Problem } from "./api";
import { onceCode } from "./route";
import { findSession, isOwner, live, maybeSignedIn, me, route, session, signedOut, signOut, tick } from "./store";
import { clockText, longDayText, zoneText } from "./time";
import { BenchPage } from "./bench/bench_page";
import { FocusPage } from "./focus/focus_page";
import { FoundPage } from "./found/found_page";
import { NoticesPage } from "./notices/notices_page";
import { ProblemNote, useWork } from "./ui/parts";
import { Troubles } from "./ui/troubles";
import { AddCamera } from "./views/add_camera";
import { EventsPage } from "./events/events_page";
import { HandOverPage } from "./handover/handover_page";
import { JobPage } from "./jobs/job_page";
import { JobsPage } from "./jobs/jobs_page";
import { CameraPage } from "./views/camera";
import { People } from "./views/people";
import { Sheet } from "./views/sheet";
import { SignIn } from "./views/sign_in";
import { StationPage } from "./views/station";
import { Wall } from "./views/wall";

let onceProblem: Problem | null = null;

// `/#once=CODE`: used up at once and taken out of the address, so that it stays in no history.
async function start(): Promise<void> {
  const code = onceCode(location.hash);
  if (code !== null) {
    history.replaceState(null, "", location.pathname);
    route.value = { is: "sheet" };
    try {
      await call("/api/v1/sign-in/once", { method: "POST", body: { code }, quiet401: true });
    } catch (error) {
      onceProblem = asProblem(error);
      if (!maybeSignedIn()) return signedOut("");
    }
  } else if (!maybeSignedIn()) {
    return signedOut("");
  }
  await findSession();
}

function View() {
  const where = route.value;
  switch (where.is) {
    case "wall":
      return <Wall />;
    case "camera":
      return <CameraPage key={where.name} name={where.name} at={where.at} />;
    case "focus":
      return <FocusPage key={where.name} name={where.name} />;
    case "events":
      return <EventsPage />;
    case "jobs":
      return <JobsPage />;
    case "job":
      return <JobPage key={where.id} id={where.id} />;
    case "handover":
      return <HandOverPage />;
    case "notices":
      return <NoticesPage />;
    case "people":
      return <People />;
    case "station":
      return <StationPage />;
    case "add":
      return <AddCamera key={JSON.stringify(where.given)} given={where.given} />;
    case "find":
      return <FoundPage />;
    case "bench":
      return <BenchPage subject={where.subject} given={where.given} />;
    default:
      return <Sheet />;
  }
}

function Masthead() {
  const where = route.value.is === "job" ? "jobs" : route.value.is;
  const out = useWork();
  const now = tick.value;
  const link = (to: string, is: string, text: string) => (
    <a href={to} aria-current={where === is ? "page" : undefined}>
      {text}
    </a>
  );
  return (
    <header class="masthead">
      <a class="skip" href="#main" onClick={(event) => {
        event.preventDefault();
        document.getElementById("main")?.focus();
      }}>
        skip to the page
      </a>
      <a class="title" href="#/" aria-label="Rookery, sheet of strips">
        Rookery
      </a>
      <nav aria-label="Pages">
        {link("#/", "sheet", "Sheet")}
        {link("#/wall", "wall", "Wall")}
        {link("#/events", "events", "Events")}
        {link("#/jobs", "jobs", "Jobs")}
        {link("#/handover", "handover", "Hand over")}
        {link("#/bench", "bench", "Bench")}
        {isOwner.value && link("#/find", "find", "Find")}
        {isOwner.value && link("#/notices", "notices", "Notices")}
        {isOwner.value && link("#/people", "people", "People")}
        {link("#/station", "station", "Station")}
      </nav>
      <p class="today">
        <span>{longDayText(now)}</span> <time class="figures">{clockText(now)}</time> <span>{zoneText(now)}</span>
      </p>
      <p class="who">
        <span>{me.value?.name}</span>
        <button type="button" class="quiet" disabled={out.busy} onClick={() => void out.run(signOut)}>
          sign out
        </button>
      </p>
      {out.problem && <ProblemNote problem={out.problem} />}
    </header>
  );
}

function LinkLine() {
  const link = live.link.value;
  tick.value;
  let text = "";
  if (link.is === "lost") {
    const left = Math.max(0, Math.ceil((link.retryAt - Date.now()) / 1000));
    text = `Connection to the station lost, trying again in ${left} s. What is shown may be old.`;
  }
  return (
    <div class={`link-line ${text ? "is-on" : ""}`}>
      {/* Told once when it begins, not with every second of the count. */}
      <p role="status" class="for-ears">
        {link.is === "lost" ? "Connection to the station lost, trying again." : ""}
      </p>
      {text && (
        <>
          <p aria-hidden="true">{text}</p>
          <button type="button" class="quiet" onClick={() => live.tryNow()}>
            try now
          </button>
        </>
      )}
    </div>
  );
}

// A new view starts at its top, and the focus goes there for those who listen or use the keyboard.
function useViewFocus(): void {
  const first = useRef(true);
  const where = route.value;
  const place = where.is === "camera" ? `camera/${where.name}` : where.is === "job" ? `job/${where.id}` : where.is;
  useEffect(() => {
    if (first.current) {
      first.current = false;
      return;
    }
    window.scrollTo(0, 0);
    document.getElementById("main")?.focus({ preventScroll: true });
  }, [place]);
}

export function App() {
  useEffect(() => void start(), []);
  useViewFocus();
  const who = session.value;
  if (who.is === "asking") return <main id="main" class="plain"><p role="status">Asking the station …</p></main>;
  if (who.is === "unknown") {
    return (
      <main id="main" class="plain">
        <h1>Rookery</h1>
        <ProblemNote problem={who.problem} />
        <button type="button" onClick={() => void findSession()}>
          try again
        </button>
      </main>
    );
  }
  if (who.is === "out") return <SignIn why={who.why} onceProblem={onceProblem} />;
  return (
    <>
      <Masthead />
      <LinkLine />
      <Troubles />
      <main id="main" tabIndex={-1}>
        <View />
      </main>
    </>
  );
}
