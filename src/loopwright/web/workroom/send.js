// Edits on their way to the shelf: one after the other, kept in the browser until the shelf has said that it has them.

const WAIT_MS = 1500;

export class Sender {
  constructor(item, version, tell) {
    this.item = item;
    this.version = version;
    this.tell = tell;
    this.window = Math.random().toString(36).slice(2, 12);
    this.lost = null;
    this.sending = false;
    this.queue = JSON.parse(sessionStorage.getItem(this.store) ?? "[]");
    if (this.queue.length) this.run();
  }

  get store() {
    return `loopwright-waiting-${this.item}`;
  }

  // edits: [{path, typed} or {path, value}]; base: the version looked at when the typing began; pasted: what else to say
  edit(edits, { base = this.version, label = "", pasted } = {}) {
    this.queue.push({ edits, base, label, pasted });
    this.keep();
    this.run();
  }

  // something else of this item, by a door of its own; kept and sent in the same order
  through(door, asked) {
    this.queue.push({ door, asked });
    this.keep();
    this.run();
  }

  keep() {
    if (this.queue.length) sessionStorage.setItem(this.store, JSON.stringify(this.queue));
    else sessionStorage.removeItem(this.store);
    this.tell("waiting", this.queue.length);
  }

  async run() {
    if (this.sending) return;
    this.sending = true;
    while (this.queue.length) {
      const first = this.queue[0];
      const answer = await this.post(first.door ?? "changes", first.asked ?? this.body(first)).catch(() => null);
      if (answer === null || answer.status >= 500) {
        this.lost ??= new Date();
        this.tell("lost", { since: this.lost, waiting: this.queue.length });
        await new Promise((done) => setTimeout(done, WAIT_MS));
        continue;
      }
      if (this.lost) this.tell("found", null);
      this.lost = null;
      this.queue.shift();
      this.keep();
      this.heard(first, answer);
    }
    this.sending = false;
  }

  body({ edits, base, label }) {
    return { base_version: base, edits, label, window: this.window };
  }

  heard(sent, { status, body }) {
    if (status === 200) {
      if (!body.merged) for (const each of this.queue) each.base = Math.max(each.base ?? 0, body.version);
      this.seen(body.version);
      this.tell("saved", { ...body, edits: sent.edits ?? [], pasted: sent.pasted, door: sent.door, asked: sent.asked });
    } else if (status === 409) {
      this.tell("clash", { ...body, edits: sent.edits ?? [] });
    } else {
      const problem = body?.problem ?? { where: "", what: body?.detail ?? "This could not be saved.", tries: [] };
      this.tell("refused", { ...sent, problem, cells: body?.cells ?? [] });
    }
  }

  seen(version) {
    this.version = Math.max(this.version, version);
  }

  async step(name, body = {}) {
    const answer = await this.post(name, body).catch(() => null);
    if (answer?.status === 200 && answer.body.version) this.seen(answer.body.version);
    return answer;
  }

  post(name, body) {
    return send(`/api/items/${this.item}/${name}`, body);
  }
}

export async function send(url, body) {
  const response = await fetch(url, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  });
  const text = await response.text();
  let read = null;
  try {
    read = JSON.parse(text);
  } catch {
    read = { problem: { where: "", what: text.slice(0, 300), tries: [] } };
  }
  return { status: response.status, body: read };
}
