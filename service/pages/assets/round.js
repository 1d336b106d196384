// The round: what is reported is kept on the telephone first, then sent, once, by one sender. What
// is not taken stands apart until it was mended or thrown away.

const AGAIN_MS = 5000;
const PATIENCE_MS = 15000;
const REPORTS = "/screens/round/reports";
const { keep, forget, everything, sendAll } = self.sending;
const me = document.getElementById("top").dataset.me;
// The crew's words came with the page, so they are here with no signal, too.
const words = JSON.parse(document.getElementById("top").dataset.words);
const plural = new Intl.PluralRules(document.documentElement.lang);
const counted = (name, n) =>
  (words[`${name}.${plural.select(n)}`] ?? words[`${name}.other`]).replace("{n}", n);
let mark = document.getElementById("top").dataset.mark;
let reached = true;
let known = true;
let chosen = null;

// --- the time there, not the telephone's --------------------------------------------------------

// Until this telephone heard it, nobody knows how far it is off: its sender asks then.
const heard = () => localStorage.getItem("clock-ahead-ms") !== null;
const ahead = () => Number(localStorage.getItem("clock-ahead-ms") ?? 0);
const now = () => new Date(Date.now() + ahead()).toISOString();

// What is heard is old by its way here, and nobody knows by how much: less than since it was asked
// for. What was heard before holds while it fits in, or a slow answer would put what is reported
// next before what was reported last.
function hear(thereMs, askedMs) {
  const [least, most] = [thereMs - Date.now(), thereMs - askedMs];
  const held = heard() ? Math.min(Math.max(ahead(), least), most) : least;
  localStorage.setItem("clock-ahead-ms", held);
}

// --- reporting ----------------------------------------------------------------------------------

function labelOf(form, name) {
  const field = [...form.elements].find((one) => one.name === name && one.type !== "hidden");
  if (!field || field.type === "radio" || field.type === "checkbox") return null;
  return field.labels?.[0]?.firstChild?.textContent.trim() ?? null;
}

async function report(form, button) {
  const fields = [...new FormData(form, button)]
    .filter(([name, value]) => value !== "" && name !== "key" && name !== "at")
    .map(([name, value]) => ({ name, value, label: labelOf(form, name) }));
  fields.push({ name: "at", value: now(), label: null });
  for (const name of (form.dataset.keeps ?? "").split(" ").filter(Boolean)) {
    const kept = fields.find((field) => field.name === name);
    if (kept) localStorage.setItem(`last-${name}`, kept.value);
  }
  const card = form.closest("[data-about]");
  await keep({
    key: crypto.randomUUID(),
    order: Date.now(),
    me,
    label: form.dataset.label,
    about: "goesOn" in form.dataset ? null : (card?.dataset.about ?? null),
    fields,
    ownClock: !heard(),
    refused: null,
    sent: false,
  });
  form.closest("details")?.removeAttribute("open");
  await show();
  wakeLater();
  send();
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.getAttribute("action") !== REPORTS) return;
  event.preventDefault();
  if (form.inert) return;
  form.inert = true; // a second tap, while the telephone still writes, is no second report
  report(form, event.submitter)
    .catch((fault) => {
      // The telephone keeps nothing (private browsing, a full disk): send it the plain way.
      console.warn("not kept", fault);
      form.elements.at.value = now();
      form.requestSubmit === undefined ? form.submit() : HTMLFormElement.prototype.submit.call(form);
    })
    .finally(() => (form.inert = false));
});

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!("ask" in form.dataset)) return;
  event.preventDefault();
  const shown = form.closest(".inside").querySelector(".answer");
  const asked = new URLSearchParams(new FormData(form));
  try {
    const answer = await fetch(`${form.getAttribute("action")}?${asked}`, {
      headers: { Accept: "text/html" },
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const piece = page.querySelector(".piece") ?? page.querySelector("main");
    shown.replaceChildren(...piece.childNodes);
    shown.classList.toggle("keep-off", piece.dataset.answer !== "collect");
    form.closest("details").removeAttribute("open");
    shown.scrollIntoView({ block: "center" });
  } catch {
    shown.append(element("p", words.nobody_asked));
  }
});

function fillIn() {
  for (const form of document.querySelectorAll("form[data-keeps]")) {
    for (const name of form.dataset.keeps.split(" ")) {
      const last = localStorage.getItem(`last-${name}`);
      const field = form.elements[name];
      if (last !== null && field) field.value = last;
    }
  }
}

// --- sending: one sender, whatever number of tabs -------------------------------------------------

async function send() {
  const told = await sendAll(me);
  if (!told) return;
  for (const status of told.statuses) {
    reached = status !== null;
    if (reached) known = status !== 401;
  }
  await show();
  if (told.sent) await planAndLook();
}

// Where a browser can, it wakes the worker when there is a signal again, this page open or not.
async function wakeLater() {
  try {
    await (await navigator.serviceWorker?.ready)?.sync?.register("round");
  } catch {
    // it cannot, or may not: this page sends while it is open
  }
}

async function planAndLook() {
  try {
    await fetch("/screens/round/plan", { method: "POST", headers: { Accept: "text/html" } });
    if (!busy()) await look();
  } catch {
    // the next look tells
  }
}

// --- showing ------------------------------------------------------------------------------------

function element(name, text, more = {}) {
  return Object.assign(document.createElement(name), text === null ? {} : { textContent: text }, more);
}

// What was left empty and is asked for: without a field for it, a report could only be thrown away.
function missing(one) {
  return (one.refused.errors ?? [])
    .filter((e) => /^\/(weigh_ticket|refused_percent)$/.test(e.pointer ?? ""))
    .map((e) => ({ name: e.pointer.slice(1), label: e.detail.split(":")[0], value: "" }))
    .filter((asked) => !one.fields.some((field) => field.name === asked.name && field.label));
}

function rowOf(one) {
  const row = element("li", null);
  row.append(element("p", one.me === me ? one.label : words.of_another.replace("{label}", one.label)));
  if (!one.refused) return row;
  for (const sentence of [one.refused.detail?.replace("; see errors.", ":"), ...(one.refused.errors ?? []).map((e) => e.detail)]) {
    if (sentence) row.append(element("p", sentence));
  }
  const form = element("form", null, { className: "row-form" });
  const labelled = [...one.fields.filter((field) => field.label), ...missing(one)];
  for (const field of labelled) {
    const label = element("label", field.label);
    label.append(element("input", null, { name: field.name, value: field.value }));
    form.append(label);
  }
  const why = element("label", words.so_all_the_same);
  why.append(element("input", null, { name: "reason", maxLength: 500 }));
  form.append(why, element("button", words.send_again, { type: "submit" }));
  const away = element("button", words.throw_away, { type: "button", className: "grave" });
  away.addEventListener("click", async () => {
    await forget(one.key);
    await show();
  });
  form.append(away);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const said = new FormData(form);
    const fields = one.fields
      .filter((field) => field.name !== "reason")
      .map((field) => (said.has(field.name) ? { ...field, value: said.get(field.name) } : field));
    for (const field of missing(one)) fields.push({ ...field, value: said.get(field.name) });
    if (said.get("reason")) fields.push({ name: "reason", value: said.get("reason"), label: null });
    await forget(one.key);
    await keep({ ...one, key: crypto.randomUUID(), fields, refused: null });
    await show();
    send();
  });
  row.append(form);
  return row;
}

async function show() {
  const all = await everything();
  const lists = {
    refused: all.filter((one) => one.refused),
    waiting: all.filter((one) => !one.refused && !one.sent),
  };
  for (const [id, rows] of Object.entries(lists)) {
    const section = document.getElementById(id);
    if (!section.contains(document.activeElement)) {
      section.querySelector("[data-rows]").replaceChildren(...rows.map(rowOf));
    }
    section.hidden = rows.length === 0;
  }
  const lines = [];
  if (!known) lines.push(words.not_known);
  else if (!reached) lines.push(words.no_connection);
  if (lists.waiting.length) lines.push(counted("not_sent", lists.waiting.length));
  if (lists.refused.length) lines.push(counted("not_taken", lists.refused.length));
  if (!lines.length) lines.push(words.all_kept);
  document.getElementById("state").textContent = lines.join(" ");
  const said = new Set(all.filter((one) => one.about && !one.refused).map((one) => one.about));
  const cards = [...document.querySelectorAll(".card[data-about]")];
  const open = cards.filter((card) => !said.has(card.dataset.about));
  const next = open.find((card) => card.dataset.about === chosen) ?? open[0];
  for (const card of cards) {
    card.classList.toggle("sent-later", said.has(card.dataset.about));
    card.classList.toggle("now", card === next);
  }
}

// The plan's order is a proposal: any stop can be taken next.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.(".card h2 a");
  if (!link) return;
  event.preventDefault();
  chosen = link.closest(".card").dataset.about;
  show();
});

// --- news ---------------------------------------------------------------------------------------

// What is opened or typed in now is not taken away under the hand; the next look comes in seconds.
const busy = () =>
  document.querySelector("#round details.bar[open], #round :is(input, select, textarea):focus") !== null;

async function look() {
  const before = (await everything()).filter((one) => one.sent);
  const answer = await fetch("/screens/round/", {
    headers: { Accept: "text/html" },
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  known = answer.status !== 401;
  if (!answer.ok) return show();
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (busy()) return show(); // it was opened while the page was on its way
  mark = page.getElementById("top").dataset.mark;
  document.querySelector("#top p").replaceWith(page.querySelector("#top p"));
  document.getElementById("round").replaceWith(page.getElementById("round"));
  fillIn();
  if ("current" in page.getElementById("top").dataset) {
    for (const one of before) await forget(one.key);
  }
  return show();
}

async function ask() {
  try {
    const asked = Date.now();
    const answer = await fetch("/screens/round/mark", {
      headers: { Accept: "application/json" },
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    reached = true;
    known = answer.status !== 401;
    if (answer.ok) {
      const told = await answer.json();
      hear(told.now_ms, asked);
      if (told.mark !== mark && !busy()) await look();
    }
  } catch {
    reached = false;
  }
  await show();
}

async function work() {
  await ask();
  if (reached && known) await send();
}

if ("serviceWorker" in navigator) navigator.serviceWorker.register("/screens/round/worker.js");
navigator.storage?.persist?.();
fillIn();
await show();
work();
setInterval(() => document.hidden || work(), AGAIN_MS);
addEventListener("online", work);
document.addEventListener("visibilitychange", () => document.hidden || work());
