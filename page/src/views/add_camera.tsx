// A new camera: its one word and where its pictures come from.
import { useState } from "preact/hooks";
import { call } from "../api";
import { cameraLink, type GivenCamera } from "../route";
import { isOwner, takeCamera } from "../store";
import type { Camera } from "../types";
import { useTitle } from "../ui/hooks";
import { Field, ProblemNote, useWork } from "../ui/parts";
import { cameraNameFault } from "../words";
import { CameraFields, useForm } from "./camera_fields";
import { type CameraForm, EMPTY_FORM, faultsOf, settingsOf } from "./camera_form";

// A board that answers with stills alone is asked for them again and again.
function formFor(given: GivenCamera): CameraForm {
  const source = given.stream === "" && given.still !== "" ? "stills" : "stream";
  return { ...EMPTY_FORM, name: given.name, source, stream_address: given.stream, still_address: given.still };
}

export function AddCamera({ given }: { given: GivenCamera }) {
  useTitle("add a camera");
  const { form, set, faults, setFaults, element, toFirstFault } = useForm(formFor(given));
  const [checked, setChecked] = useState(false);
  const work = useWork();
  const nameFault = checked ? cameraNameFault(form.name) : null;
  const submit = (event: Event): void => {
    event.preventDefault();
    const found = faultsOf(form);
    setFaults(found);
    setChecked(true);
    if (cameraNameFault(form.name) !== null || Object.keys(found).length > 0) return toFirstFault();
    void work.run(async () => {
      const body = { name: form.name, ...settingsOf(form) };
      const made = await call<Camera>("/api/v1/cameras", { method: "POST", body });
      takeCamera(made);
      location.hash = cameraLink(made.name);
    });
  };
  if (!isOwner.value) return <p>Only owners add cameras.</p>;
  return (
    <div class="form-page">
      <h1>Add a camera</h1>
      <p>
        <a href="#/find">Find boards on the network</a>, or fill in what you know.
      </p>
      <form ref={element} onSubmit={submit} noValidate>
        <Field label="Name" hint="One word for addresses and files: a–z, 0–9 and “-”. It stays for good." fault={nameFault}>
          {(props) => (
            <input {...props} value={form.name} spellcheck={false} autocapitalize="none" autocomplete="off" onInput={(e) => set({ name: e.currentTarget.value.trim() })} />
          )}
        </Field>
        <CameraFields form={form} faults={faults} set={set} />
        {work.problem && <ProblemNote problem={work.problem} />}
        <div class="acts">
          <button type="submit" class="main-act" disabled={work.busy}>
            {work.busy ? "adding …" : "add this camera"}
          </button>
          <a class="button quiet" href="#/">
            back to the sheet
          </a>
        </div>
      </form>
    </div>
  );
}
