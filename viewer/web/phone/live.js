// The one thing that a page served by `show --share` may ask for: exact numbers. A file opened from a disk never asks.

/** The address that answers with `numbers --json`, or "" in a file of its own. */
export function live() {
  return document.querySelector("meta[name=shimwright-live]")?.content ?? "";
}

/** Ask for the numbers at these settings; empty ones are left out. Gives the report, or throws with the line that came back. */
export async function ask(address, settings) {
  const query = new URLSearchParams(Object.entries(settings).filter(([, value]) => value));
  const answer = await fetch(`${address}?${query}`, { cache: "no-store" });
  if (!answer.ok) throw new Error((await answer.text()).slice(0, 400) || `HTTP ${answer.status}`);
  return answer.json();
}
