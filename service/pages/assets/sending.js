// Reports that are kept on the telephone, and their way out: for the page of the round, and for its
// worker, which sends them when there is a signal again and the page is closed.

self.sending = (() => {
  const PATIENCE_MS = 15000;
  const REPORTS = "/screens/round/reports";
  const MARK = "/screens/round/mark";

  const opened = new Promise((resolve, reject) => {
    const asked = indexedDB.open("round", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("reports", { keyPath: "key" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });

  async function stored(mode, act) {
    const database = await opened;
    return new Promise((resolve, reject) => {
      // Strict: on the disk before anybody reads "kept".
      const whole = database.transaction("reports", mode, { durability: "strict" });
      const asked = act(whole.objectStore("reports"));
      whole.oncomplete = () => resolve(asked.result);
      whole.onerror = whole.onabort = () => reject(whole.error);
    });
  }
  const keep = (report) => stored("readwrite", (reports) => reports.put(report));
  const forget = (key) => stored("readwrite", (reports) => reports.delete(key));
  const everything = async () =>
    (await stored("readonly", (reports) => reports.getAll())).sort((a, b) => a.order - b.order);

  const request = (address, more = {}) =>
    fetch(address, {
      headers: { Accept: "application/json" },
      signal: AbortSignal.timeout(PATIENCE_MS),
      ...more,
    });

  // A report made before this telephone ever heard the time there says it by its own clock. How far
  // that is off is known now; kept, so that every try says the same.
  async function timed(one, off) {
    const fields = one.fields.map((field) =>
      field.name === "at"
        ? { ...field, value: new Date(Date.parse(field.value) + off).toISOString() }
        : field,
    );
    const told = { ...one, fields, ownClock: false };
    await keep(told);
    return told;
  }

  // Returns what became of a report, and the status that the service answered; none if it did not.
  async function sendOne(one, clock) {
    let answer;
    try {
      if (one.ownClock) {
        if (clock.off === null) {
          const heard = await request(MARK);
          if (!heard.ok) return { outcome: "later", status: heard.status };
          clock.off = (await heard.json()).now_ms - Date.now();
        }
        one = await timed(one, clock.off);
      }
      const said = one.fields.map(({ name, value }) => [name, value]);
      const body = new URLSearchParams([...said, ["key", one.key]]);
      answer = await request(REPORTS, { method: "POST", body });
    } catch {
      return { outcome: "later", status: null };
    }
    const { status } = answer;
    if (answer.ok) {
      await keep({ ...one, sent: true }); // until a plan knows of it
      return { outcome: "kept", status };
    }
    const problem = await answer.json().catch(() => ({}));
    const later = [401, 408, 429].includes(status) || status >= 500;
    if (later || problem.code === "first_try_unfinished") return { outcome: "later", status };
    await keep({ ...one, refused: problem });
    return { outcome: "refused", status };
  }

  // One sender, whatever number of tabs and workers; returns nothing where another one sends.
  async function sendAll(me) {
    return navigator.locks.request("round-sender", { ifAvailable: true }, async (lock) => {
      if (!lock) return null;
      const told = { sent: 0, later: false, statuses: [] };
      const clock = { off: null }; // heard once: a slow answer is as late for all of them
      for (const one of await everything()) {
        if (one.refused || one.sent || one.me !== me) continue;
        const { outcome, status } = await sendOne(one, clock);
        told.statuses.push(status);
        told.later = outcome === "later";
        if (told.later) break;
        if (outcome === "kept") told.sent += 1;
      }
      return told;
    });
  }

  return { keep, forget, everything, sendAll };
})();
