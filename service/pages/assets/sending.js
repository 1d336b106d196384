// Reports that are kept on the telephone, and their way out: for the page of the round, and for its
// worker, which sends them when there is a signal again and the page is closed.

self.sending = (() => {
  const PATIENCE_MS = 15000;
  const REPORTS = "/screens/round/reports";

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

  // Returns what became of a report, and the status that the service answered; none if it did not.
  async function sendOne(one) {
    const body = new URLSearchParams([
      ...one.fields.map(({ name, value }) => [name, value]),
      ["key", one.key],
    ]);
    let answer;
    try {
      answer = await fetch(REPORTS, {
        method: "POST",
        body,
        headers: { Accept: "application/json" },
        signal: AbortSignal.timeout(PATIENCE_MS),
      });
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
      for (const one of await everything()) {
        if (one.refused || one.sent || one.me !== me) continue;
        const { outcome, status } = await sendOne(one);
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
