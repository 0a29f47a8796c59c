// Sign-in: a name and a password. The paper before the notebook is opened.
import { useEffect, useRef, useState } from "preact/hooks";
import { asProblem, call, Problem } from "../api";
import { findSession } from "../store";
import { useTitle } from "../ui/hooks";
import { Field, ProblemNote } from "../ui/parts";

// Counts down the seconds that the station asked to wait.
function useCountdown(): [number, (seconds: number) => void] {
  const [left, setLeft] = useState(0);
  useEffect(() => {
    if (left <= 0) return;
    const timer = window.setTimeout(() => setLeft(left - 1), 1000);
    return () => window.clearTimeout(timer);
  }, [left]);
  return [left, setLeft];
}

export function SignIn({ why, onceProblem }: { why: string; onceProblem: Problem | null }) {
  useTitle("sign in");
  const [problem, setProblem] = useState<Problem | null>(onceProblem);
  const [busy, setBusy] = useState(false);
  const [left, setLeft] = useCountdown();
  const form = useRef<HTMLFormElement | null>(null);

  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (!form.current || left > 0) return;
    const fields = new FormData(form.current);
    setBusy(true);
    setProblem(null);
    try {
      const body = { name: fields.get("name"), password: fields.get("password") };
      await call("/api/v1/sign-in", { method: "POST", body, quiet401: true });
      await findSession();
    } catch (error) {
      const found = asProblem(error);
      setProblem(found);
      if (found.status === 429) setLeft(found.retryAfterS ?? 30);
      form.current?.querySelector<HTMLInputElement>("input[name=password]")?.select();
    } finally {
      setBusy(false);
    }
  };

  return (
    <main id="main" class="sign-in">
      <TraceMark />
      <h1>Rookery</h1>
      <p class="lead">Live pictures, strips and recordings of this station’s cameras.</p>
      {why && <p role="status">{why}</p>}
      <form ref={form} onSubmit={(event) => void submit(event)}>
        <Field label="Name">
          {(props) => <input {...props} name="name" required autocomplete="username" autocapitalize="none" spellcheck={false} />}
        </Field>
        <Field label="Password">
          {(props) => <input {...props} name="password" type="password" required autocomplete="current-password" />}
        </Field>
        {problem && <ProblemNote problem={problem} />}
        <button type="submit" class="main-act" disabled={busy || left > 0}>
          {left > 0 ? `wait ${left} s` : busy ? "signing in …" : "sign in"}
        </button>
        <p class="for-ears" role="status">
          {left > 0 && left % 10 === 0 ? `Please wait ${left} seconds.` : ""}
        </p>
      </form>
    </main>
  );
}

function TraceMark() {
  return (
    <svg class="trace-mark" viewBox="0 0 320 46" aria-hidden="true" focusable="false">
      <path class="mark-rules" d="M40 0v46M80 0v46M120 0v46M160 0v46M200 0v46M240 0v46M280 0v46M0 40h320" />
      <path
        class="mark-trace"
        d="M0 38h22l4-3 4 3h30l3-9 3 6 4-22 4 26 3-12 4 8 3 2h40l5-4 4 4h46l3-6 4 4 4-30 3 31 4-15 5 10 4-4 4 7h56l4-5 4 5h46"
      />
    </svg>
  );
}
