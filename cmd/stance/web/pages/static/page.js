// The check while a note is typed. Everything else on the pages works without a script; what is put into
// the page here was made, and escaped, by the server's own templates.

const form = document.getElementById("note");
if (form) writing(form);

// Only the answer "mistaken" needs a reason.
document.addEventListener("change", ({ target }) => {
  if (target.name === "as") target.form.elements.why.required = target.value === "mistaken";
});

// Leaving takes the draft along, so that the next person at this tablet does not find it.
document.querySelector("form.leave")?.addEventListener("submit", () => localStorage.removeItem("draft"));

function writing(form) {
  const at = (id) => document.getElementById(id);
  const text = at("text"), summary = at("summary"), told = at("told"), result = at("result"), checkNow = at("check");
  const keeps = form.dataset.drafts === "shift";
  let shiftEnds = 0; // by this browser's clock, which need not be the server's; 0 until it is known
  let checked = null; // the text that the findings shown are about
  let waiting, announcing, asked, changes = [], before = text.value;
  let broken = false; // the last check got no answer
  const kept = "Your words are still here. Press Check to try again, or copy them.";

  at("copy").hidden = at("clear").hidden = at("kept").hidden = false;
  checkNow.hidden = true; // the check comes by itself

  // ---- The draft. It is kept for this user and this shift only.

  function keep() {
    if (!keeps || !shiftEnds) return;
    if (text.value.trim() === "") return forget();
    const draft = { user: form.dataset.user, until: shiftEnds, text: text.value };
    for (const name of ["resident", "other", "role", "time"]) draft[name] = form.elements[name].value;
    try {
      localStorage.setItem("draft", JSON.stringify(draft));
    } catch {
      told.textContent = "This browser keeps no draft. What you type is gone when you leave the page.";
    }
  }

  function forget() {
    localStorage.removeItem("draft");
  }

  function recall() {
    let draft;
    try {
      draft = JSON.parse(localStorage.getItem("draft"));
    } catch {
      draft = null;
    }
    if (!draft) return;
    if (!keeps || draft.user !== form.dataset.user || !(Date.now() < draft.until)) return forget();
    if (text.value !== "") return; // the server has sent a note, which is newer
    for (const name of ["other", "role", "time"]) form.elements[name].value = draft[name];
    form.elements.resident.value = draft.resident;
    if (form.elements.resident.value !== draft.resident) form.elements.other.value = draft.resident;
    if (draft.other || draft.time) form.querySelector(".ask details").open = true;
    text.value = before = draft.text;
    told.textContent = "Your draft is back. It stays in this browser until the shift ends.";
  }

  function expire() {
    if (shiftEnds && Date.now() >= shiftEnds) forget();
  }

  // ---- The check.

  async function check() {
    asked?.abort();
    asked = new AbortController();
    const about = text.value;
    try {
      const answer = await fetch("/check.json", {
        method: "POST",
        body: new URLSearchParams(new FormData(form)),
        headers: { "X-CSRF-Token": form.elements.csrf.value },
        signal: asked.signal,
        redirect: "error",
      });
      if (!answer.ok) return fail(await reason(answer));
      const got = await answer.json();
      shiftEnds = Date.now() + got.left;
      at("status").innerHTML = got.status;
      result.innerHTML = got.result;
      checked = about;
      if (text.value === about) result.ariaBusy = "false";
      announce(got.summary);
      keep();
      mend();
    } catch (e) {
      if (e.name !== "AbortError") fail("stance does not answer. " + kept);
    }
  }

  // The server's own words where it gave any, such as that one is logged out and what to do.
  async function reason(answer) {
    const plain = answer.headers.get("Content-Type")?.startsWith("text/plain");
    return plain ? (await answer.text()).trim() : "stance cannot check this note. " + kept;
  }

  // What is shown of an older text would mislead, so it goes until there is an answer.
  function fail(words) {
    clearTimeout(announcing);
    summary.textContent = "";
    result.replaceChildren();
    result.ariaBusy = "false";
    checked = null;
    broken = true;
    checkNow.hidden = false;
    if (told.textContent !== words) told.textContent = words;
  }

  function mend() {
    if (!broken) return;
    broken = false;
    told.textContent = "The note is checked again.";
    if (document.activeElement === checkNow) text.focus();
    checkNow.hidden = true;
  }

  // A screen reader is told once the typing pauses, and only what is new.
  function announce(words) {
    clearTimeout(announcing);
    announcing = setTimeout(() => {
      if (summary.textContent !== words) summary.textContent = words;
    }, 400);
  }

  function soon(pause) {
    result.ariaBusy = "true";
    clearTimeout(waiting);
    waiting = setTimeout(check, pause);
  }

  // ---- Proposed words, put in by a click and taken out by another.

  form.addEventListener("submit", (event) => {
    const by = event.submitter;
    if (by === checkNow) { // by hand, or by the enter key in a field
      event.preventDefault();
      return soon(0);
    }
    if (by?.name !== "use") return;
    event.preventDefault();
    const { start, end, old, new: words } = by.dataset;
    if (text.value !== checked || text.value.slice(+start, +end) !== old) return soon(0); // typed on since
    text.setRangeText(words, +start, +end, "end");
    edited();
    changes.push({ start: +start, old, words });
    offer();
    at("undo-do").focus();
    soon(0);
  });

  at("undo-do").addEventListener("click", () => {
    const last = changes.pop();
    if (last && text.value.slice(last.start, last.start + last.words.length) === last.words) {
      const rest = changes;
      text.setRangeText(last.old, last.start, last.start + last.words.length, "end");
      changes = rest;
      edited();
    }
    offer();
    (changes.length ? at("undo-do") : text).focus();
    soon(0);
  });

  function offer() {
    const last = changes.at(-1);
    at("undo").hidden = !last;
    at("undo-words").textContent = last ? `Changed “${last.old}” to “${last.words}”.` : "";
  }

  // edited moves the places of earlier changes along with the text, and drops those that were typed over.
  function edited() {
    const now = text.value;
    let from = 0, same = 0;
    const most = Math.min(before.length, now.length);
    while (from < most && before[from] === now[from]) from++;
    while (same < most - from && before.at(-1 - same) === now.at(-1 - same)) same++;
    const until = before.length - same, grown = now.length - before.length;
    changes = changes.flatMap((c) => {
      if (c.start + c.words.length <= from) return [c];
      if (c.start >= until) return [{ ...c, start: c.start + grown }];
      return [];
    });
    before = now;
  }

  text.addEventListener("input", () => {
    if (!broken) told.textContent = "";
    edited();
    offer();
    keep();
    soon(150);
  });
  for (const name of ["resident", "other", "role", "time"]) {
    form.elements[name].addEventListener("change", () => {
      // One resident only, and the one that counts in view.
      if (name === "resident") form.elements.other.value = "";
      if (name === "other" && form.elements.other.value.trim()) form.elements.resident.value = "";
      keep();
      soon(0);
    });
  }

  // ---- Giving the note back.

  at("copy").addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(text.value);
      told.textContent = "The note is copied. Paste it into the resident’s record.";
    } catch {
      text.focus();
      text.select();
      told.textContent = "The note is selected. Copy it with your keyboard or by a long press.";
    }
  });
  at("clear").addEventListener("click", () => {
    text.value = before = "";
    changes = [];
    offer();
    forget();
    told.textContent = "The note is cleared.";
    text.focus();
    soon(0);
  });

  recall();
  setInterval(expire, 30_000);
  soon(0);
}
