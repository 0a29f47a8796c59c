// Where notices go, and how each receiver does.
import { useState } from "preact/hooks";
import { call } from "../api";
import { tick } from "../store";
import { lengthText, parseTime } from "../time";
import type { Receiver, ReceiverKind } from "../types";
import { Choice, Field, momentText, Panel, ProblemNote, Removal, Said, useWork } from "../ui/parts";
import { countText } from "../words";
import { EMPTY_RECEIVER, formOfReceiver, receiverBody, receiverChange, receiverFaults, whereText, type ReceiverFaults, type ReceiverForm } from "./form";

const KIND_WORDS: Record<ReceiverKind, string> = { webhook: "webhook", mqtt: "MQTT broker", mail: "mail" };

export function Receivers({ list, onChange }: { list: Receiver[]; onChange: () => void }) {
  return (
    <Panel title="Receivers" note="Where notices go.">
      {list.length === 0 && <p>None yet. Add a webhook, an MQTT broker or a mail server below; then make a rule.</p>}
      <ul class="person-list">
        {list.map((receiver) => (
          <ReceiverLine key={receiver.id} receiver={receiver} onChange={onChange} />
        ))}
      </ul>
    </Panel>
  );
}

function ReceiverLine({ receiver, onChange }: { receiver: Receiver; onChange: () => void }) {
  const work = useWork();
  const path = `/api/v1/receivers/${receiver.id}`;
  const act = (action: () => Promise<unknown>, said: string): void => {
    void work.run(async () => {
      await action();
      onChange();
    }, said);
  };
  return (
    <li data-receiver={receiver.id}>
      <p class="person-name">
        {receiver.name} <span class="hint">{KIND_WORDS[receiver.kind]}</span>
      </p>
      <p>{whereText(receiver)}</p>
      <Doing receiver={receiver} />
      <div class="acts">
        <button type="button" class="quiet" disabled={work.busy || !receiver.enabled} onClick={() => act(() => call(`${path}/test`, { method: "POST", body: {} }), "A test notice is on its way.")}>
          send a test
        </button>
        <button type="button" class="quiet" disabled={work.busy} onClick={() => act(() => call(path, { method: "PATCH", body: { enabled: !receiver.enabled } }), "")}>
          {receiver.enabled ? "switch off" : "switch on"}
        </button>
        <Removal
          label="remove …"
          ask={`Remove ${receiver.name}? Its ${countText(receiver.waiting)} waiting notices go with it.`}
          yes={`remove ${receiver.name}`}
          onRemove={async () => {
            await call(path, { method: "DELETE" });
            onChange();
          }}
        />
      </div>
      <details>
        <summary>change …</summary>
        <ReceiverFields
          start={formOfReceiver(receiver)}
          there={{ hasSecret: receiver.has_secret }}
          act="save this receiver"
          said="The receiver is saved. Send it a test."
          onSubmit={async (form) => {
            await call(path, { method: "PATCH", body: receiverChange(form) });
            onChange();
          }}
        />
      </details>
      {work.problem && <ProblemNote problem={work.problem} />}
      <Said text={work.done} />
    </li>
  );
}

// How it does: what came through, what waits and why.
function Doing({ receiver }: { receiver: Receiver }) {
  const now = tick.value;
  const failing = parseTime(receiver.failing_since);
  const oldest = parseTime(receiver.oldest_waiting);
  const last = parseTime(receiver.last_delivered);
  return (
    <>
      {!receiver.enabled && <p class="hint">Switched off: what is for it waits.</p>}
      {failing !== null && (
        <p class="fault">
          Fails since {momentText(failing, now)}: {receiver.last_error}
        </p>
      )}
      <p class="hint">
        {countText(receiver.delivered)} delivered
        {last !== null && `, the last ${lengthText(now - last)} ago`}
        {receiver.waiting > 0 && ` · ${countText(receiver.waiting)} waiting${oldest === null ? "" : `, the oldest for ${lengthText(now - oldest)}`}`}
        {receiver.given_up > 0 && ` · ${countText(receiver.given_up)} given up`}
        {receiver.dropped > 0 && ` · ${countText(receiver.dropped)} dropped, as too many were waiting`}
      </p>
    </>
  );
}

export function AddReceiver({ onAdded }: { onAdded: () => void }) {
  const [round, setRound] = useState(0);
  return (
    <Panel title="Add a receiver">
      <ReceiverFields
        key={round}
        start={EMPTY_RECEIVER}
        act="add this receiver"
        onSubmit={async (form) => {
          await call("/api/v1/receivers", { method: "POST", body: receiverBody(form) });
          onAdded();
          setRound((n) => n + 1);
        }}
      />
      <Said text={round > 0 ? "The receiver is added. Send it a test." : ""} />
    </Panel>
  );
}

interface FieldsProps {
  start: ReceiverForm;
  there?: { hasSecret: boolean }; // it is one that is there already: its kind stays
  act: string;
  said?: string;
  onSubmit: (form: ReceiverForm) => Promise<void>;
}

function ReceiverFields({ start, there, act, said, onSubmit }: FieldsProps) {
  const [form, setForm] = useState(start);
  const [faults, setFaults] = useState<ReceiverFaults>({});
  const work = useWork();
  const set = (change: Partial<ReceiverForm>): void => setForm((old) => ({ ...old, ...change }));
  const submit = (event: Event): void => {
    event.preventDefault();
    const found = receiverFaults(form, there?.hasSecret);
    setFaults(found);
    if (Object.keys(found).length === 0) void work.run(() => onSubmit(form), said);
  };
  const props = { form, faults, set, secretHint: there?.hasSecret ? "Empty: it stays as it is. " : "" };
  return (
    <form onSubmit={submit} noValidate>
      {!there && (
        <Choice
          legend="What it is"
          name="receiver-kind"
          value={form.kind}
          options={[
            { value: "webhook", label: "a program with a web address (webhook)" },
            { value: "mqtt", label: "an MQTT broker" },
            { value: "mail", label: "mail" },
          ]}
          onChange={(kind) => set({ kind })}
        />
      )}
      <Text label="Name" of="name" {...props} />
      {form.kind === "webhook" ? <WebhookFields {...props} /> : <HostFields {...props} />}
      <Text label="Certificates beside the system's" hint="A PEM file on the station's computer; mostly empty." of="ca_file" {...props} />
      {work.problem && <ProblemNote problem={work.problem} />}
      <button type="submit" class="main-act" disabled={work.busy}>
        {act}
      </button>
      <Said text={work.done} />
    </form>
  );
}

interface PartProps {
  form: ReceiverForm;
  faults: ReceiverFaults;
  set: (change: Partial<ReceiverForm>) => void;
  secretHint: string;
}

type TextKey = "name" | "address" | "host" | "port" | "prefix" | "user" | "from" | "to" | "ca_file" | "secret";

function Text({ label, hint, of, form, faults, set, secret }: Omit<PartProps, "secretHint"> & { label: string; hint?: string; of: TextKey; secret?: boolean }) {
  return (
    <Field label={label} hint={hint} fault={faults[of]}>
      {(props) =>
        secret ? (
          <input {...props} type="password" autocomplete="new-password" value={form[of]} onInput={(e) => set({ [of]: e.currentTarget.value })} />
        ) : (
          <input {...props} autocomplete="off" spellcheck={false} value={form[of]} onInput={(e) => set({ [of]: e.currentTarget.value })} />
        )
      }
    </Field>
  );
}

function WebhookFields(props: PartProps) {
  return (
    <>
      <Text label="Address" hint="Gets a signed POST with JSON; docs/notices.md says how to check it." of="address" {...props} />
      <Text label="Secret" hint={`${props.secretHint}At least 16 characters; never shown again.`} of="secret" secret {...props} />
    </>
  );
}

function HostFields(props: PartProps) {
  const { form, faults, set, secretHint } = props;
  return (
    <>
      <div class="pair">
        <Text label="Host" of="host" {...props} />
        <Text label="Port" hint="Empty: the usual one." of="port" {...props} />
      </div>
      {form.kind === "mqtt" ? (
        <>
          <label class="check">
            <input type="checkbox" checked={form.tls} onChange={(e) => set({ tls: e.currentTarget.checked })} />
            <span>over TLS</span>
          </label>
          <Text label="Topics begin with" of="prefix" {...props} />
        </>
      ) : (
        <>
          <Field label="Security" fault={faults.security}>
            {(own) => (
              <select {...own} value={form.security} onChange={(e) => set({ security: e.currentTarget.value as ReceiverForm["security"] })}>
                <option value="starttls">STARTTLS, port 587</option>
                <option value="tls">TLS, port 465</option>
                <option value="none">none, without a password</option>
              </select>
            )}
          </Field>
          <Text label="Sender" of="from" {...props} />
          <Text label="To" hint="One mail address or several, with commas between." of="to" {...props} />
        </>
      )}
      <div class="pair">
        <Text label="Name for signing in" hint="May be empty." of="user" {...props} />
        <Text label="Password" hint={`${secretHint}Never shown again.`} of="secret" secret {...props} />
      </div>
    </>
  );
}
