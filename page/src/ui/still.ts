// The newest still of a camera, to be drawn on.
import { asProblem, Problem } from "../api";

export async function newestStill(name: string): Promise<ImageBitmap> {
  const response = await fetch(`/live/${encodeURIComponent(name)}.jpg`, { credentials: "same-origin", cache: "no-store" });
  if (!response.ok) {
    throw new Problem(
      { title: "No picture to draw on", detail: "The camera has sent no picture yet.", remedy: "Wait until it is live, then try again." },
      response.status,
    );
  }
  try {
    return await createImageBitmap(await response.blob());
  } catch (error) {
    throw asProblem(error);
  }
}
