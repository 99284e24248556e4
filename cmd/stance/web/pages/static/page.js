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
  let ended = false; // the writer has left the field: what stands in it is all there is
  let whole = false; // what was checked was checked as such
  let settled = "", called = ""; // whom the last check was about
  let beside = null; // of which resident and time the last notes are shown
  let onward = false; // the number was typed with the enter key, so the note comes next
  let marks = []; // places in the text, as the last check gave them and moved along since
  let again = -1; // where a card comes back, for the focus
  let pressed = false, later = false; // a finger or a button is down; what waits until it is not
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

  // What a person calls the resident, where the chart says it.
  function name() {
    return whose() === settled ? called : whose();
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
    if (draft.time) form.querySelector(".ask details").open = true;
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
    const about = text.value, all = ended, of = JSON.stringify([whose(), form.elements.time.value]), sought = form.elements.other.value;
    const body = new URLSearchParams(new FormData(form));
    if (all) body.set("ended", "yes");
    if (beside !== of) body.set("before", "yes");
    try {
      const answer = await fetch("/check.json", {
        method: "POST",
        body,
        headers: { "X-CSRF-Token": form.elements.csrf.value },
        signal: asked.signal,
        redirect: "error",
      });
      if (!answer.ok) return fail(await reason(answer));
      const got = await answer.json();
      shiftEnds = Date.now() + got.left;
      settle(got, sought);
      put(at("status"), got.status);
      if (got.before !== undefined) {
        put(at("before-notes"), got.before);
        beside = JSON.stringify([whose(), form.elements.time.value]);
      }
      show(got.result);
      checked = about;
      whole = all;
      errors = got.errors;
      if (text.value === about) {
        result.ariaBusy = "false";
        summary.textContent = got.summary;
        summary.dataset.state = got.state;
        marks = got.marks;
        underline();
        edge(got.short, got.state);
        announce(got.summary);
      }
      keep();
      mend();
    } catch (e) {
      if (e.name !== "AbortError") fail("stance does not answer. " + kept);
    }
  }

  // settle has the resident who was meant by what was typed stand in the list, the one place to look.
  function settle(got, sought) {
    settled = got.resident;
    called = got.called;
    if (!settled) return;
    if (form.elements.other.value !== sought) return; // somebody else is being typed by now
    if (sought !== "") {
      form.elements.resident.value = settled;
      form.elements.other.value = "";
    }
    if (onward) text.focus();
    onward = false;
  }

  // put changes a part of the page only where it is another, so that what is open in it stays open.
  function put(where, html) {
    if (where.shown !== html) where.innerHTML = where.shown = html;
  }

  // show puts the findings in, those whose words were put in the note where they stood, and whatever the writer is
  // looking at where it was.
  function show(html) {
    const key = html + changes.length;
    if (result.shown === key) return;
    result.shown = key;
    const cards = () => [...result.querySelectorAll(".finding")];
    const here = cards().find((c) => c.contains(document.activeElement)) ?? cards().find((c) => c.getBoundingClientRect().bottom > 0);
    const seen = here && result.getBoundingClientRect().top < 0 || here?.contains(document.activeElement);
    const place = cards().indexOf(here), top = here?.getBoundingClientRect().top, focus = document.activeElement;
    const open = new Set(cards().filter((c) => c.querySelector("details[open]")).map((c) => c.dataset.id));
    result.innerHTML = html;
    for (const c of cards()) if (open.has(c.dataset.id)) c.querySelector("details").open = true;
    for (const c of changes) {
      const among = cards();
      let list = result.querySelector(".findings");
      if (!list) {
        list = document.createElement("section");
        list.className = "findings";
        list.ariaLabel = "What you changed";
        result.prepend(list);
      }
      among[c.place] ? among[c.place].before(c.card) : list.append(c.card);
    }
    if (changes.some((c) => c.card.contains(focus))) focus.focus({ preventScroll: true });
    if (again >= 0) cards()[again]?.querySelector("button[name=use]")?.focus({ preventScroll: true });
    again = -1;
    if (!seen) return;
    const same = cards().find((c) => c === here || here.dataset.id && c.dataset.id === here.dataset.id) ?? cards()[Math.min(place, cards().length - 1)];
    if (same) scrollBy({ top: same.getBoundingClientRect().top - top, behavior: "instant" });
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
    result.shown = null;
    result.ariaBusy = "false";
    marks = [];
    underline();
    edge("Not checked", "cut");
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
    at("under").dataset.busy = "yes";
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
      onward = document.activeElement === form.elements.other;
      return soon(0);
    }
    if (by?.name !== "use") return;
    event.preventDefault();
    const { start, end, old, new: words } = by.dataset;
    if (text.value.slice(+start, +end) !== old) return soon(0); // typed over since
    text.setRangeText(words, +start, +end, "end");
    edited();
    const card = by.closest(".finding");
    result.style.minHeight = `${result.offsetHeight}px`; // a page that gets shorter would move under the hand
    const change = { start: +start, old, words, card: done(card, old, words), place: [...result.querySelectorAll(".finding")].indexOf(card) };
    changes.push(change);
    card.replaceWith(change.card);
    change.card.querySelector("button").focus({ preventScroll: true });
    soon(0);
  });

  // done is a card that says what was changed, in place of the finding.
  function done(card, old, words) {
    const made = (tag, words, look = "") => Object.assign(document.createElement(tag), { textContent: words, className: look });
    const out = made("div", "", "finding done"), line = made("p", "", "undo"), back = made("button", "Undo");
    out.append(made("p", card.querySelector("h3 span:last-child").textContent.replace(/^\d+\. /, ""), "quiet"));
    back.type = "button";
    line.append(made("span", `Changed “${old}” to “${words}”.`), " ", back);
    out.append(line);
    back.addEventListener("click", () => {
      const c = changes.find((c) => c.card === out);
      if (!c || text.value.slice(c.start, c.start + c.words.length) !== c.words) return;
      changes = changes.filter((o) => o !== c);
      text.setRangeText(c.old, c.start, c.start + c.words.length, "end");
      edited();
      out.querySelector("p.undo").textContent = `“${old}” is back.`;
      keep();
      soon(0);
    });
    return out;
  }

  at("undo-do").addEventListener("click", () => {
    for (const name of ["other", "role", "time"]) form.elements[name].value = cleared[name];
    form.elements.resident.value = cleared.resident;
    text.value = before = cleared.text;
    cleared = null;
    tell("");
    offer();
    keep();
    text.focus();
    soon(0);
  });

  function offer() {
    at("undo").hidden = !cleared;
    at("undo-words").textContent = cleared ? "The note is cleared." : "";
  }

  // empty takes the note out of the field. It can be had back until something else is typed.
  function empty() {
    if (text.value !== "") {
      cleared = { text: text.value };
      for (const name of ["resident", "other", "role", "time"]) cleared[name] = form.elements[name].value;
    }
    text.value = before = "";
    result.style.minHeight = "";
    changes = [];
    marks = [];
    underline();
    copied = null;
    forget();
    tell("");
    offer();
  }

  // edited moves the places of earlier changes, and of what was found, along with the text, and drops those that were
  // typed over.
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
      c.card.remove();
      return [];
    });
    marks = marks.flatMap((m) => {
      if (m.end <= from) return [m];
      if (m.start >= until) return [{ ...m, start: m.start + grown, end: m.end + grown }];
      return m.start <= from && m.end >= until ? [{ ...m, end: m.end + grown }] : [];
    });
    before = now;
    underline();
  }

  // underline draws what was found under the words in the field. It is seen on wide screens.
  function underline() {
    const under = at("under");
    let done = 0;
    under.replaceChildren();
    for (const m of marks) {
      under.append(text.value.slice(done, m.start));
      const words = document.createElement("mark");
      words.className = m.look;
      words.textContent = text.value.slice(m.start, m.end);
      under.append(words);
      done = m.end;
    }
    under.append(text.value.slice(done) + "\n"); // a last line that is empty counts too
    under.dataset.busy = "";
    under.scrollTop = text.scrollTop;
  }
  text.addEventListener("scroll", () => (at("under").scrollTop = text.scrollTop));

  // ---- On a phone whose keyboard is up: one line at its edge.

  function edge(words, state) {
    at("edge").textContent = words;
    at("edge").dataset.state = state;
    atEdge();
  }

  function atEdge() {
    const e = at("edge"), v = window.visualViewport;
    const keyboard = document.activeElement === text && (v?.height ?? innerHeight) <= 500; // what it leaves of a phone
    e.hidden = e.textContent === "" || !keyboard || !matchMedia("(max-width: 47.99rem)").matches;
    document.documentElement.classList.toggle("edged", !e.hidden);
    if (v) e.style.bottom = `${Math.max(0, innerHeight - v.height - v.offsetTop)}px`;
  }
  for (const what of ["resize", "scroll"]) window.visualViewport?.addEventListener(what, atEdge);
  addEventListener("resize", atEdge);
  text.addEventListener("focus", atEdge);
  at("edge").addEventListener("pointerdown", (event) => event.preventDefault()); // the keyboard stays until the list is there
  at("edge").addEventListener("click", () => {
    text.blur();
    (result.querySelector("h2") ?? summary).scrollIntoView({ block: "start" });
  });

  // The writer has left the field, so what stands in it is all there is. Nothing moves while a button is pressed.
  function left() {
    atEdge();
    if (text.value.trim() === "" || ended) return;
    ended = true;
    pressed ? (later = true) : finish();
  }

  // finish checks at once. What is shown is about the text as it stands, so it is not dimmed.
  function finish() {
    clearTimeout(waiting);
    return check();
  }
  text.addEventListener("blur", left);
  addEventListener("pointerdown", () => (pressed = true), true);
  for (const what of ["pointerup", "pointercancel"]) {
    addEventListener(what, () => {
      pressed = false;
      if (later) setTimeout(finish, 0);
      later = false;
    }, true);
  }

  // On a phone the chart shows its limits and the way of transfer, and all of it when asked.
  const charted = at("charted"), unfold = at("unfold");
  charted.classList.add("folded", "live");
  charted.addEventListener("click", ({ target }) => { // one of several whom the typed words fit
    if (!target.dataset.pick) return;
    form.elements.resident.value = target.dataset.pick;
    form.elements.resident.dispatchEvent(new Event("change", { bubbles: true }));
    text.focus();
  });
  unfold.hidden = false;
  unfold.addEventListener("click", () => {
    const open = !charted.classList.toggle("folded");
    unfold.ariaExpanded = String(open);
    unfold.textContent = open ? "Only the limits" : "All that is charted";
  });
  if (matchMedia("(min-width: 60rem)").matches) at("before").open = true;

  text.addEventListener("input", () => {
    ended = false;
    result.style.minHeight = "";
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
        tell(`The note in the field was copied for ${copied.name || "nobody by name"}.`, "copied");
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
    const given = text.value;
    if (checked !== given || !whole) { // the last sentence may have no end
      ended = true;
      await finish();
    }
    copied = { text: given, whose: whose(), name: name() };
    let words = settled ? `Copied for ${copied.name}.` : "Copied. It was held against no chart: no resident was chosen.";
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
    (stay ? text : form.elements.other).focus();
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
