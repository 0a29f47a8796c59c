// Access tokens of one camera: addresses for programs that cannot sign in.
import { useEffect, useState } from "preact/hooks";
import { call, cameraPath } from "../api";
import { curlLines, hookLines } from "../handover/reading";
import { TryAddress } from "../handover/try_address";
import { tick } from "../store";
import { dayText, lengthText, parseTime } from "../time";
import type { Camera, NewToken, TokenInfo, TokenUse } from "../types";
import { Choice, Field, Panel, ProblemNote, Removal, Said, useWork } from "../ui/parts";

type MadeTokenOf = NewToken & { use: TokenUse };

const USES: Record<TokenUse, string> = { watch: "watches", push: "sends stills", report: "tells of jobs" };

export function Tokens({ camera }: { camera: Camera }) {
  const [list, setList] = useState<TokenInfo[] | null>(null);
  const [made, setMade] = useState<MadeTokenOf | null>(null);
  const reading = useWork();
  const path = `${cameraPath(camera.name)}/tokens`;
  const read = () => reading.run(async () => setList((await call<{ tokens: TokenInfo[] }>(path)).tokens));
  useEffect(() => void read(), [camera.name]);
  return (
    <Panel title="Access tokens" note="For programs that cannot sign in: an address that shows this camera alone, until you revoke it.">
      {reading.problem && <ProblemNote problem={reading.problem} />}
      {list && list.length === 0 && <p>No program has an address of this camera.</p>}
      {list && list.length > 0 && (
        <ul class="tokens">
          {list.map((token) => (
            <TokenLine key={token.id} token={token} path={path} onGone={() => void read()} />
          ))}
        </ul>
      )}
      {made && <MadeToken made={made} camera={camera.name} onDone={() => setMade(null)} />}
      <NewTokenForm
        path={path}
        onMade={(token) => {
          setMade(token);
          void read();
        }}
      />
    </Panel>
  );
}

function TokenLine({ token, path, onGone }: { token: TokenInfo; path: string; onGone: () => void }) {
  const madeAt = parseTime(token.made_at);
  const used = parseTime(token.last_used_at);
  return (
    <li>
      <p>
        <b>{token.label || "no label"}</b> <span>{USES[token.use]}</span>
      </p>
      <p class="hint figures">
        {madeAt !== null && `made ${dayText(madeAt)}`}
        {used === null ? ", never used" : `, last used ${lengthText(tick.value - used)} ago`}
      </p>
      <Removal
        label="revoke …"
        ask={`Revoke “${token.label}”? Programs with this address see nothing any more.`}
        yes="revoke it"
        onRemove={async () => {
          await call(`${path}/${encodeURIComponent(String(token.id))}`, { method: "DELETE" });
          onGone();
        }}
      />
    </li>
  );
}

function NewTokenForm({ path, onMade }: { path: string; onMade: (token: MadeTokenOf) => void }) {
  const [label, setLabel] = useState("");
  const [use, setUse] = useState<TokenUse>("watch");
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    void work.run(async () => {
      const token = await call<NewToken>(path, { method: "POST", body: { label: label.trim(), use } });
      onMade({ ...token, use });
      setLabel("");
    });
  };
  return (
    <form onSubmit={submit} class="token-form">
      <Field label="Who or what it is for">
        {(props) => <input {...props} required maxLength={100} value={label} onInput={(e) => setLabel(e.currentTarget.value)} />}
      </Field>
      <Choice
        legend="It may"
        name="token-use"
        value={use}
        options={[
          { value: "watch", label: "watch" },
          { value: "push", label: "send stills" },
          { value: "report", label: "tell of jobs" },
        ]}
        onChange={setUse}
      />
      {work.problem && <ProblemNote problem={work.problem} />}
      <button type="submit" disabled={work.busy}>
        make a token
      </button>
    </form>
  );
}

// The address as a program needs it: with this page's host, and with the token when the answer left it out.
function wholeAddress(address: string, token: string): string {
  const url = new URL(address, location.origin);
  if (!url.searchParams.has("token")) url.searchParams.set("token", token);
  return url.href;
}

function MadeToken({ made, camera, onDone }: { made: MadeTokenOf; camera: string; onDone: () => void }) {
  const stream = wholeAddress(made.live_mjpeg, made.token);
  const still = wholeAddress(made.live_jpg, made.token);
  const hook = `${location.origin}/api/v1/hooks/${encodeURIComponent(camera)}`;
  const lines = {
    watch: [
      { label: "Stream", text: stream },
      { label: "Still", text: still },
    ],
    push: [
      { label: "Token", text: made.token },
      { label: "Address to send stills to", text: `${location.origin}${cameraPath(camera)}/stills?token=${made.token}` },
    ],
    report: [
      { label: "Token", text: made.token },
      { label: "Address to tell of jobs", text: hook },
    ],
  }[made.use];
  return (
    <div class="made-token" role="status">
      <p>
        <b>Copy it now:</b> it is shown this once and stored only as a hash.
      </p>
      {lines.map((line) => (
        <CopyLine key={line.label} {...line} />
      ))}
      {made.use === "report" && <pre class="shell">{hookLines(hook, made.token)}</pre>}
      {made.use === "watch" && (
        <>
          <TryAddress still={still} stream={stream} />
          <details>
            <summary>with curl</summary>
            <pre class="shell">{curlLines(still, stream, made.token)}</pre>
          </details>
        </>
      )}
      <button type="button" class="quiet" onClick={onDone}>
        done, hide it
      </button>
    </div>
  );
}

function CopyLine({ label, text }: { label: string; text: string }) {
  const [said, setSaid] = useState("");
  const copy = async (): Promise<void> => {
    try {
      await navigator.clipboard.writeText(text);
      setSaid("copied");
    } catch {
      // Browsers offer the clipboard only over TLS or on loopback.
      setSaid("this browser does not allow it: select the text and copy it");
    }
  };
  return (
    <div class="copy-line">
      <Field label={label}>
        {(props) => <input {...props} readOnly value={text} onFocus={(e) => e.currentTarget.select()} />}
      </Field>
      <button type="button" onClick={() => void copy()}>
        copy
      </button>
      <Said text={said} />
    </div>
  );
}
