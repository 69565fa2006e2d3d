// What a link to this page restores: changes, the set-up they start from, the level and what cells show.

/** What stands behind # in the address; nothing where it cannot be read. */
export function fromLink() {
  const blank = { changes: {}, setUp: null, level: null, colour: "date" };
  try {
    const said = new URLSearchParams(location.hash.slice(1));
    const changes = JSON.parse(said.get("changes") ?? "{}");
    if (typeof changes !== "object" || changes === null || Array.isArray(changes)) return blank;
    return {
      changes,
      setUp: said.get("from"),
      level: said.has("level") ? Number(said.get("level")) : null,
      colour: said.get("cells") === "cause" ? "cause" : "date",
    };
  } catch {
    return blank;
  }
}

/** Write the state into the address without a new entry in the browser's history. */
export function toLink({ changes, setUp, level, colour }) {
  const said = new URLSearchParams();
  if (Object.keys(changes).length) said.set("changes", JSON.stringify(changes));
  if (setUp) said.set("from", setUp);
  if (level !== null) said.set("level", level);
  if (colour !== "date") said.set("cells", colour);
  history.replaceState(null, "", said.size ? `#${said}` : location.pathname);
}
