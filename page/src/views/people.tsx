// People: who may sign in, as what, and which cameras they see. For owners.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { cameras, isOwner, me } from "../store";
import type { Person } from "../types";
import { useTitle } from "../ui/hooks";
import { Choice, Field, Panel, ProblemNote, Removal, Said, useWork } from "../ui/parts";

const personPath = (name: string): string => `/api/v1/people/${encodeURIComponent(name)}`;
export const MIN_PASSWORD = 8;

export function People() {
  useTitle("people");
  const [list, setList] = useState<Person[] | null>(null);
  const reading = useWork();
  const read = () => reading.run(async () => setList((await call<{ people: Person[] }>("/api/v1/people")).people));
  useEffect(() => {
    if (isOwner.value) void read();
  }, []);
  if (!isOwner.value) return <p>Only owners see this page.</p>;
  return (
    <div class="people">
      <h1>People</h1>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      <div class="panels">
        {list && (
          <Panel title="Who may sign in">
            <ul class="person-list">
              {list.map((person) => (
                <PersonLine key={person.name} person={person} onChange={() => void read()} />
              ))}
            </ul>
          </Panel>
        )}
        <AddPerson onAdded={() => void read()} />
      </div>
    </div>
  );
}

function seesText(person: Person): string {
  if (person.role === "owner") return "owner, sees and sets everything";
  if (person.cameras === null) return "viewer, sees all cameras";
  return person.cameras.length === 0 ? "viewer, sees no camera yet" : `viewer, sees ${person.cameras.join(", ")}`;
}

function PersonLine({ person, onChange }: { person: Person; onChange: () => void }) {
  const own = person.name === me.value?.name;
  return (
    <li>
      <p class="person-name">
        {person.name}
        {own && <span class="hint"> (you)</span>}
      </p>
      <p>{seesText(person)}</p>
      {person.role === "viewer" && (
        <details>
          <summary>which cameras …</summary>
          <PersonCameras person={person} onChange={onChange} />
        </details>
      )}
      {!own && (
        <details>
          <summary>new password …</summary>
          <PersonPassword name={person.name} />
        </details>
      )}
      {own ? (
        <p class="hint">
          Your own password is on the <a href="#/station">station page</a>.
        </p>
      ) : (
        <Removal
          label="remove …"
          ask={`Remove ${person.name}? They are signed out at once.`}
          yes={`remove ${person.name}`}
          onRemove={async () => {
            await call(personPath(person.name), { method: "DELETE" });
            onChange();
          }}
        />
      )}
    </li>
  );
}

// null: all cameras, also those added later.
function CamerasChoice({ value, set, name }: { value: string[] | null; set: (value: string[] | null) => void; name: string }) {
  const list = cameras.value ?? [];
  return (
    <>
      <Choice
        legend="Sees"
        name={name}
        value={value === null ? "all" : "some"}
        options={[
          { value: "all", label: "all cameras" },
          { value: "some", label: "chosen cameras" },
        ]}
        onChange={(which) => set(which === "all" ? null : [])}
      />
      {value !== null && (
        <fieldset class="checks">
          <legend>Chosen cameras</legend>
          {list.map((camera) => (
            <label key={camera.name}>
              <input
                type="checkbox"
                checked={value.includes(camera.name)}
                onChange={(e) => set(e.currentTarget.checked ? [...value, camera.name] : value.filter((one) => one !== camera.name))}
              />
              <span>{camera.title || camera.name}</span>
            </label>
          ))}
        </fieldset>
      )}
    </>
  );
}

function PersonCameras({ person, onChange }: { person: Person; onChange: () => void }) {
  const [chosen, setChosen] = useState(person.cameras);
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    void work
      .run(() => call(personPath(person.name), { method: "PATCH", body: { cameras: chosen } }), "Saved.")
      .then((ok) => ok && onChange());
  };
  return (
    <form onSubmit={submit}>
      <CamerasChoice value={chosen} set={setChosen} name={`sees-${person.name}`} />
      {work.problem && <ProblemNote problem={work.problem} />}
      <div class="acts">
        <button type="submit" disabled={work.busy}>
          save
        </button>
        <Said text={work.done} />
      </div>
    </form>
  );
}

function PersonPassword({ name }: { name: string }) {
  const [password, setPassword] = useState("");
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    void work.run(async () => {
      await call(personPath(name), { method: "PATCH", body: { password } });
      setPassword("");
    }, "The new password holds from now on.");
  };
  return (
    <form onSubmit={submit}>
      <Field label={`New password of ${name}`} hint={`At least ${MIN_PASSWORD} characters.`}>
        {(props) => (
          <input {...props} type="password" minLength={MIN_PASSWORD} required autocomplete="new-password" value={password} onInput={(e) => setPassword(e.currentTarget.value)} />
        )}
      </Field>
      {work.problem && <ProblemNote problem={work.problem} />}
      <div class="acts">
        <button type="submit" disabled={work.busy}>
          set password
        </button>
        <Said text={work.done} />
      </div>
    </form>
  );
}

function AddPerson({ onAdded }: { onAdded: () => void }) {
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [role, setRole] = useState<"owner" | "viewer">("viewer");
  const [sees, setSees] = useState<string[] | null>(null);
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    void work.run(async () => {
      const body = { name: name.trim(), role, password, cameras: role === "owner" ? null : sees };
      await call("/api/v1/people", { method: "POST", body });
      setName("");
      setPassword("");
      onAdded();
    }, `${name.trim()} may sign in now.`);
  };
  return (
    <Panel title="Add a person">
      <form onSubmit={submit}>
        <Field label="Name">
          {(props) => <input {...props} required maxLength={64} autocomplete="off" value={name} onInput={(e) => setName(e.currentTarget.value)} />}
        </Field>
        <Field label="First password" hint={`At least ${MIN_PASSWORD} characters. They can change it.`}>
          {(props) => (
            <input {...props} type="password" required minLength={MIN_PASSWORD} autocomplete="new-password" value={password} onInput={(e) => setPassword(e.currentTarget.value)} />
          )}
        </Field>
        <Choice
          legend="Role"
          name="new-role"
          value={role}
          options={[
            { value: "viewer", label: "viewer, watches" },
            { value: "owner", label: "owner, sets everything" },
          ]}
          onChange={setRole}
        />
        {role === "viewer" && <CamerasChoice value={sees} set={setSees} name="new-sees" />}
        {work.problem && <ProblemNote problem={work.problem} />}
        <div class="acts">
          <button type="submit" class="main-act" disabled={work.busy}>
            add this person
          </button>
          <Said text={work.done} />
        </div>
      </form>
    </Panel>
  );
}
