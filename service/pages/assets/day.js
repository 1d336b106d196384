// The day: parts are fetched when they are opened, news is asked for cheaply, and what moved since
// the last look is shown until it was seen. Without this script every part is a link.

const EVERY_MS = 5000;
const top = document.getElementById("top");
const { depot, day, plan } = top.dataset;
const query = new URLSearchParams({ depot, day });

async function piece(address) {
  const answer = await fetch(address, { headers: { Accept: "text/html" } });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  return page.querySelector(".piece") ?? page.querySelector("main");
}

async function open(details) {
  const address = details.dataset.fetch;
  delete details.dataset.fetch;
  const summary = details.querySelector("summary");
  summary.setAttribute("aria-busy", "true");
  try {
    const found = document.adoptNode(await piece(address));
    details.replaceChildren(summary, found);
  } catch {
    details.dataset.fetch = address; // no network: the next opening tries again
  }
  summary.removeAttribute("aria-busy");
}

// Opening does not bubble, so it is caught on its way down.
document.addEventListener(
  "toggle",
  (event) => {
    const details = event.target;
    if (details.open && details.dataset.fetch) open(details);
  },
  true,
);
// What was opened before this script came.
for (const details of document.querySelectorAll("details[open][data-fetch]")) open(details);

// What was opened stays open when the page is loaded again, and a link into it opens it.
const folds = [...document.querySelectorAll("details.fold")];
const kept = `open-${depot}-${day}`;
const were = (sessionStorage.getItem(kept) ?? "").split(" ");
for (const fold of folds) fold.open ||= were.includes(fold.id);
const unfold = () => {
  const found = document.getElementById(location.hash.slice(1));
  const fold = found?.closest("details.fold");
  if (!fold || fold.open) return;
  fold.open = true;
  found.scrollIntoView();
};
unfold();
window.addEventListener("hashchange", unfold);
document.addEventListener(
  "toggle",
  () => sessionStorage.setItem(kept, folds.filter((fold) => fold.open).map((fold) => fold.id).join(" ")),
  true,
);

function tell(text, label, act) {
  const news = document.getElementById("news");
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.addEventListener("click", act);
  news.replaceChildren(text, button);
  news.hidden = false;
}

let tag = `"${top.dataset.mark}"`;
async function ask() {
  if (document.hidden) return;
  try {
    const answer = await fetch(`/screens/day/mark?${query}`, {
      cache: "no-store",
      headers: { "If-None-Match": tag, Accept: "application/json" },
    });
    if (answer.status === 200) {
      tag = answer.headers.get("ETag");
      tell("Something happened on this day.", "Show it", () => location.reload());
    } else if (answer.status === 401) {
      tell("This device is not known here any more.", "Look", () => location.reload());
    }
  } catch {
    tell("There is no connection; what you see may be old.", "Try again", () => location.reload());
  }
}
setInterval(ask, EVERY_MS);
document.addEventListener("visibilitychange", ask);

// What moved since the last look, however often the page was loaded meanwhile.
async function compare() {
  const place = `seen-${depot}-${day}`;
  const seen = localStorage.getItem(place);
  if (!seen) localStorage.setItem(place, plan);
  if (!seen || seen === plan) return;
  const section = document.getElementById("moved");
  const words = new URLSearchParams({ plan, since: seen });
  try {
    section.querySelector("[data-moved]").replaceChildren(await piece(`/screens/day/moved?${words}`));
  } catch {
    return; // it is shown at the next look
  }
  section.hidden = false;
  section.querySelector("[data-seen]").addEventListener("click", () => {
    localStorage.setItem(place, plan);
    section.hidden = true;
  });
}
if (plan) compare();

// The vehicle that is read or touched stands out on the map.
function show(letter) {
  for (const found of document.querySelectorAll(".way, .tag")) {
    found.classList.toggle("on", found.dataset.letter === letter);
  }
}
for (const name of ["focusin", "pointerover"]) {
  document.addEventListener(name, (event) => {
    const found = event.target.closest?.("[data-letter]");
    if (found) show(found.dataset.letter);
  });
}
