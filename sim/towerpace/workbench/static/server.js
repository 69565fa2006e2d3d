// What the page asks of the program that serves it, and what comes back by itself.

async function told(response) {
  const text = await response.text();
  let body = {};
  try {
    body = JSON.parse(text);
  } catch {
    body = { faults: [text.trim() || response.statusText] };
  }
  if (!response.ok) throw Object.assign(new Error((body.faults ?? []).join(" ")), { faults: body.faults ?? [], status: response.status });
  return body;
}

const asked = async (path, options) => {
  let response;
  try {
    response = await fetch(path, options);
  } catch {
    throw Object.assign(new Error(GONE), { faults: [GONE] });
  }
  return told(response);
};

export const GONE = "The program behind this page does not answer. Start it again with towerpace open.";

export const get = (path) => asked(path);

export const post = (path, body) =>
  asked(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) });

export const remove = (path) => asked(path, { method: "DELETE", headers: { "content-type": "application/json" } });

/**
 * Events of the question that was asked last. While a question is on its way its events may come before its
 * number is known: they are kept until then. A hidden page lets go of its stream, for a browser has few.
 */
export class Stream {
  constructor(heard) {
    this.heard = heard;
    this.gen = undefined;
    this.early = null;
    this.source = null;
    document.addEventListener("visibilitychange", () => (document.hidden ? this.close() : this.open()));
  }

  open() {
    if (this.source || document.hidden) return;
    this.source = new EventSource(this.gen === undefined ? "/events" : `/events?gen=${this.gen}`);
    for (const name of ["state", "answer", "faults", "advice", "choice", "file", "holds"])
      this.source.addEventListener(name, (event) => this.take(name, JSON.parse(event.data)));
    this.source.addEventListener("open", () => this.heard("connected", {}));
    this.source.addEventListener("error", () => this.heard("lost", {}));
  }

  close() {
    this.source?.close();
    this.source = null;
  }

  take(name, data) {
    const general = ["advice", "choice", "file", "state"].includes(name);
    if (general || data.gen === this.gen) this.heard(name, data);
    else this.early?.push([name, data]);
  }

  /** Ask with changes; what is heard from now on belongs to this question. */
  async ask(question) {
    const early = [];
    this.early = early;
    this.gen = undefined; // what still comes of the question before is not heard
    const { gen } = await post("/ask", question);
    if (this.early !== early) return; // a newer question has been asked meanwhile
    this.early = null;
    this.gen = gen;
    for (const [name, data] of early) if (data.gen === gen) this.heard(name, data);
  }
}
