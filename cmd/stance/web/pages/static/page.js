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
  const text = at("text"), summary = at("summary"), say = at("say"), told = at("told"), result = at("result"), checkNow = at("check");
  const keeps = form.dataset.drafts === "shift";
  let shiftEnds = 0; // by this browser's clock, which need not be the server's; 0 until it is known
  let checked = null; // the text that the findings shown are about
  let waiting, announcing, asked, changes = [], before = text.value;
  let broken = false; // the last check got no answer
  let errors = ""; // of the text checked, in words
  let copied = null; // the text copied last, and for whom
  let cleared = null; // what the form held before it was cleared
  const kept = "Your words are still here. Press Check to try again, or copy them.";

  at("copy").hidden = at("clear").hidden = at("kept").hidden = false;
  checkNow.hidden = true; // the check comes by itself

  // tell says what has just happened. What is cut off looks like nothing else on the page.
  function tell(words, kind = "") {
    at("tell").hidden = words === "";
    at("tell").dataset.kind = kind;
    if (kind !== "copied") at("next").hidden = true;
    if (told.textContent !== words) told.textContent = words;
  }

  function whose() {
    return form.elements.other.value.trim() || form.elements.resident.value;
  }

  // ---- The draft. It is kept for this user and this shift only.

  function keep() {
    if (!keeps || !shiftEnds) return;
    if (text.value.trim() === "") return forget();
    const draft = { user: form.dataset.user, until: shiftEnds, text: text.value };
    for (const name of ["resident", "other", "role", "time"]) draft[name] = form.elements[name].value;
    try {
      localStorage.setItem("draft", JSON.stringify(draft));
    } catch {
      tell("This browser keeps no draft. What you type is gone when you leave the page.");
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
    tell("Your draft is back. It stays in this browser until the shift ends.");
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
      errors = got.errors;
      if (text.value === about) {
        result.ariaBusy = "false";
        summary.textContent = got.summary;
        summary.dataset.state = got.state;
        announce(got.summary);
      }
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
    summary.textContent = "Not checked";
    summary.dataset.state = "cut";
    result.replaceChildren();
    result.ariaBusy = "false";
    checked = null;
    errors = "";
    broken = true;
    checkNow.hidden = false;
    tell(words, "cut");
  }

  function mend() {
    if (!broken) return;
    broken = false;
    tell("The note is checked again.");
    if (document.activeElement === checkNow) text.focus();
    checkNow.hidden = true;
  }

  // A screen reader is told once the typing pauses, and only what is new.
  function announce(words) {
    clearTimeout(announcing);
    announcing = setTimeout(() => {
      if (say.textContent !== words) say.textContent = words;
    }, 400);
  }

  // Until there is an answer, what is shown is about an older text, and looks like it.
  function soon(pause) {
    result.ariaBusy = "true";
    if (!broken) {
      summary.textContent = "Checking…";
      summary.dataset.state = "busy";
    }
    clearTimeout(waiting);
    waiting = setTimeout(check, pause);
  }

  // Whoever walks out of reach is told before typing on.
  addEventListener("offline", () => fail("This device is not connected. " + kept));
  addEventListener("online", () => broken && soon(0));

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
    if (cleared) {
      for (const name of ["other", "role", "time"]) form.elements[name].value = cleared[name];
      form.elements.resident.value = cleared.resident;
      text.value = before = cleared.text;
      cleared = null;
      tell("");
    } else {
      const last = changes.pop();
      if (last && text.value.slice(last.start, last.start + last.words.length) === last.words) {
        const rest = changes;
        text.setRangeText(last.old, last.start, last.start + last.words.length, "end");
        changes = rest;
        edited();
      }
    }
    offer();
    keep();
    (changes.length ? at("undo-do") : text).focus();
    soon(0);
  });

  function offer() {
    const last = changes.at(-1);
    at("undo").hidden = !last && !cleared;
    at("undo-words").textContent = cleared ? "The note is cleared." : last ? `Changed “${last.old}” to “${last.words}”.` : "";
  }

  // empty takes the note out of the field. It can be had back until something else is typed.
  function empty() {
    if (text.value !== "") {
      cleared = { text: text.value };
      for (const name of ["resident", "other", "role", "time"]) cleared[name] = form.elements[name].value;
    }
    text.value = before = "";
    changes = [];
    copied = null;
    forget();
    tell("");
    offer();
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
    if (!broken) tell("");
    if (text.value !== "") cleared = null;
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
      if (copied && copied.text === text.value && copied.whose !== whose()) {
        tell(`The note in the field was copied for ${copied.whose || "nobody by name"}.`, "copied");
        at("next").textContent = "Empty the field";
        at("next").dataset.stay = "yes";
        at("next").hidden = false;
      } else if (!broken) {
        tell("");
      }
      keep();
      soon(0);
    });
  }

  // ---- Giving the note back.

  at("copy").addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(text.value);
    } catch {
      text.focus();
      text.select();
      return tell("The note is selected. Copy it with your keyboard or by a long press.");
    }
    copied = { text: text.value, whose: whose() };
    let words = copied.whose ? `Copied for ${copied.whose}.` : "Copied. No resident was chosen, so it was held against no chart.";
    if (checked !== text.value) words += " It was not checked as it stands.";
    else if (errors) words += ` ${errors}.`;
    tell(words, "copied");
    at("tell").dataset.open = checked !== text.value || errors ? "yes" : "";
    at("next").textContent = "Next resident";
    at("next").dataset.stay = "";
    at("next").hidden = false;
  });
  at("next").addEventListener("click", () => {
    const stay = at("next").dataset.stay === "yes";
    empty();
    if (stay) {
      cleared.resident = form.elements.resident.value; // the note goes, whoever was chosen since stays
      cleared.other = form.elements.other.value;
    } else {
      form.elements.resident.value = form.elements.other.value = form.elements.time.value = "";
    }
    (stay ? text : form.elements.resident).focus();
    soon(0);
  });
  at("clear").addEventListener("click", () => {
    empty();
    text.focus();
    soon(0);
  });

  recall();
  setInterval(expire, 30_000);
  soon(0);
}
