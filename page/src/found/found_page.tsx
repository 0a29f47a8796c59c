// What is on the network: asked for every second while this view is open, with a way to add each board.
import { useEffect, useState } from "preact/hooks";
import { call } from "../api";
import { addLink, cameraLink } from "../route";
import { isOwner } from "../store";
import type { Found, FoundAnswer } from "../types";
import { useTitle } from "../ui/hooks";
import { Panel, ProblemNote, useWork } from "../ui/parts";
import { byNeed, placeText } from "./words";

const EVERY_MS = 1000;

export function FoundPage() {
  useTitle("find boards");
  const [answer, setAnswer] = useState<FoundAnswer | null>(null);
  const reading = useWork();
  useEffect(() => {
    let timer = 0;
    let over = false;
    const read = async (): Promise<void> => {
      if (document.visibilityState === "visible") await reading.run(async () => setAnswer(await call<FoundAnswer>("/api/v1/found")));
      if (!over) timer = window.setTimeout(() => void read(), EVERY_MS);
    };
    void read();
    return () => {
      over = true;
      window.clearTimeout(timer);
    };
  }, []);
  if (!isOwner.value) return <p>Only owners look for boards.</p>;
  return (
    <div class="found">
      <h1>Find boards</h1>
      <p class="hint">Whatever announces itself on the station's own network. Cameras that the station has are not asked; others are, for a still and the beginning of a stream.</p>
      {reading.problem && <ProblemNote problem={reading.problem} />}
      {answer && <FoundList answer={answer} />}
      {answer && <Sweep answer={answer} />}
      <div class="acts">
        <a class="button quiet" href="#/add">
          add one by its address
        </a>
      </div>
    </div>
  );
}

function FoundList({ answer }: { answer: FoundAnswer }) {
  const many = answer.found.length;
  const fresh = answer.found.filter((one) => one.camera === null && one.answers?.kind === "camera").length;
  const text = many === 0 ? (answer.settled ? "Nothing so far." : "Listening …") : `${many} found, ${fresh} new ${fresh === 1 ? "camera" : "cameras"}${answer.settled ? "" : ", still asking"}.`;
  return (
    <>
      <p role="status" class="figures">
        {text}
      </p>
      {many === 0 && answer.settled && <WhatToCheck />}
      <ul class="found-list">
        {byNeed(answer.found).map((one) => (
          <FoundRow key={`${one.key} ${one.name}`} one={one} />
        ))}
      </ul>
    </>
  );
}

function FoundRow({ one }: { one: Found }) {
  const name = one.name ?? one.addresses[0] ?? "without a name";
  const known = one.camera;
  return (
    <li data-found={one.key}>
      <div>
        <h2>{name}</h2>
        <p class="figures">{placeText(one)}</p>
        <p class="hint figures">
          {one.hardware_address ? `hardware address ${one.hardware_address}` : "hardware address not known"}
          {one.maker_part && `, maker part ${one.words.maker}`}
        </p>
        {one.name_twice && <p class="fault">Two boards claim this name. Give each a name of its own, or add them by address.</p>}
        {one.answers?.detail && <p class="hint">{one.answers.detail}</p>}
      </div>
      <p class={known?.moved ? "fault" : ""}>
        {known ? (
          <>
            <a href={cameraLink(known.name)}>{known.name}</a>
            {known.moved ? " is at a new address" : " is this camera"}, known by {known.by}
          </>
        ) : (
          one.words.answers
        )}
      </p>
      {!known && one.addresses.length > 0 && one.answers?.kind !== "no-camera" && (
        <a class="button" href={addLink({ name: one.suggested_name, stream: one.answers?.stream_address ?? "", still: one.answers?.still_address ?? "" })} aria-label={`add ${name}`}>
          add
        </a>
      )}
    </li>
  );
}

function WhatToCheck() {
  return (
    <Panel title="What to check">
      <ul>
        <li>Is the station on the same network as the board? A board has 2.4 GHz only, and guest networks are apart.</li>
        <li>Does the access point pass multicast between its stations? Look for “isolation”, “multicast filter” or “IGMP snooping” in its settings.</li>
        <li>Does the board announce itself? Many do not: knock at each address instead, below.</li>
        <li>Has it power, and the right network password? Its serial log tells.</li>
      </ul>
    </Panel>
  );
}

function Sweep({ answer }: { answer: FoundAnswer }) {
  const work = useWork();
  return (
    <Panel title="Boards that announce nothing">
      <p class="hint">A sweep {answer.sweep_text}.</p>
      {work.problem && <ProblemNote problem={work.problem} />}
      <div class="acts">
        <button type="button" disabled={work.busy || answer.sweeping} onClick={() => void work.run(async () => call("/api/v1/found/sweep", { method: "POST" }))}>
          {answer.sweeping ? "knocking …" : "knock at each address"}
        </button>
      </div>
    </Panel>
  );
}
