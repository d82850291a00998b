// The one script of the pages. Every page works without it: it reads dates aloud
// beside their fields and asks the server for what follows from a form while
// somebody types. It computes nothing.
"use strict";

const pause = 300; // ms after the last key

function debounced(run, after) {
  let timer;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(run, after);
  };
}

// A date field says its day with weekday and month, as the server reads it.
async function readDay(field) {
  const out = document.getElementById(field.dataset.reading);
  if (!out) return;
  if (!field.value) {
    out.textContent = "";
    return;
  }
  const answer = await fetch("/day/" + encodeURIComponent(field.value));
  if (answer.ok) out.textContent = await answer.text();
}

for (const field of document.querySelectorAll("input[data-reading]")) {
  field.addEventListener("input", debounced(() => readDay(field), pause));
  if (field.value && !document.getElementById(field.dataset.reading)?.textContent) readDay(field);
}

// A form with data-live sends itself to that address while it is filled in; what the
// answer holds takes the place of what has the same id. Once the person rests, and when
// the page is left, it is sent again, so that the server can keep what was typed last.
const resting = 4000; // ms, more than the least time between two drafts

function typedIn(form) {
  return new URLSearchParams(new FormData(form));
}

async function live(form) {
  const turn = (form.turn = (form.turn || 0) + 1);
  let answer;
  try {
    answer = await fetch(form.dataset.live, { method: "POST", body: typedIn(form) });
  } catch {
    return;
  }
  if (turn !== form.turn || form.sent) return;
  if (answer.status === 401) {
    document.getElementById("live-says").textContent = "The sign-in has run out. What you typed stays here; send it and sign in then.";
    return;
  }
  if (!answer.ok) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const fresh of page.body.children) {
    const old = document.getElementById(fresh.id);
    if (old && old.innerHTML !== fresh.innerHTML) old.replaceChildren(...fresh.childNodes);
  }
}

for (const form of document.querySelectorAll("form[data-live]")) {
  const run = () => {
    if (!form.sent) live(form);
  };
  const soon = debounced(run, pause);
  const rested = debounced(run, resting);
  form.addEventListener("input", () => {
    form.typed = true;
    soon();
    rested();
  });
  form.addEventListener("submit", () => {
    form.sent = true;
  });
  addEventListener("pageshow", () => {
    form.sent = false;
  });
  for (const leaving of ["beforeunload", "pagehide"]) {
    addEventListener(leaving, () => {
      if (form.typed && !form.sent) navigator.sendBeacon(form.dataset.live, new URLSearchParams([...typedIn(form), ["leaving", "yes"]]));
      form.typed = false;
    });
  }
}

// A password can be looked at while it is typed.
for (const button of document.querySelectorAll("button[data-shows]")) {
  const field = document.getElementById(button.dataset.shows);
  button.hidden = false;
  button.setAttribute("aria-pressed", "false");
  button.addEventListener("click", () => {
    const shown = field.type === "text";
    field.type = shown ? "password" : "text";
    button.setAttribute("aria-pressed", String(!shown));
  });
}

// Pages print by a button.
for (const button of document.querySelectorAll("button[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
