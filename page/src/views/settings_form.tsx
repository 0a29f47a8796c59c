// One camera's settings, for owners.
import { call, cameraPath } from "../api";
import { forgetCamera, takeCamera } from "../store";
import type { Camera } from "../types";
import { Panel, ProblemNote, Removal, Said, useWork } from "../ui/parts";
import { CameraFields, useForm } from "./camera_fields";
import { faultsOf, formOf, settingsOf } from "./camera_form";

export function SettingsPanel({ camera }: { camera: Camera }) {
  const { form, set, setForm, faults, setFaults, element, toFirstFault } = useForm(formOf(camera));
  const work = useWork();
  const submit = (event: Event): void => {
    event.preventDefault();
    const found = faultsOf(form);
    setFaults(found);
    if (Object.keys(found).length > 0) return toFirstFault();
    void work.run(async () => {
      const changed = await call<Camera>(cameraPath(camera.name), { method: "PATCH", body: settingsOf(form) });
      takeCamera(changed);
      setForm(formOf(changed));
    }, "Settings are saved.");
  };
  return (
    <Panel title="Settings">
      <form ref={element} onSubmit={submit} noValidate>
        <CameraFields form={form} faults={faults} set={set} hasPassword={camera.has_password} />
        {work.problem && <ProblemNote problem={work.problem} />}
        <div class="acts">
          <button type="submit" class="main-act" disabled={work.busy}>
            save settings
          </button>
          <Said text={work.done} />
        </div>
      </form>
      <Removal
        label="remove this camera …"
        ask={`Remove ${camera.name}? Its tokens stop working. Its recordings stay under this name: whoever may see a later camera called ${camera.name} sees them too.`}
        yes={`remove ${camera.name}`}
        onRemove={async () => {
          await call(cameraPath(camera.name), { method: "DELETE" });
          forgetCamera(camera.name);
          location.hash = "#/";
        }}
      />
    </Panel>
  );
}
