// Notes on the telephone: kept in it, given back as text. No network, nothing sent by itself.
(() => {
  "use strict";
  const one = (id) => document.getElementById(id);
  const form = one("noting"), says = form.dataset, key = "pollinet notes: " + says.garden;
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
  const attempt = (what) => { try { return what(); } catch { return undefined; } };

  // --- keeping: in the storage; where that is refused, in the address of this page -----------
  const store = attempt(() => {
    localStorage.setItem(key + "?", "1");
    localStorage.removeItem(key + "?");
    return localStorage;
  });
  const parsed = (text) => { const found = attempt(() => JSON.parse(text)); return Array.isArray(found) ? found : []; };
  const inAddress = () => parsed(attempt(() => decodeURIComponent(location.hash.slice(1))) || "[]");
  let here = inAddress();
  const read = () => store ? parsed(store.getItem(key) || "[]") : here;
  const keep = (notes) => {
    if (store) return attempt(() => (store.setItem(key, JSON.stringify(notes)), true)) || false;
    here = notes;
    history.replaceState(null, "", notes.length ? "#" + encodeURIComponent(JSON.stringify(notes)) : "#");
    return true;
  };
  // Without a storage the address must not lose the notes to the name of a part of the page.
  addEventListener("hashchange", () => { if (!store) { if (!here.length) here = inAddress(); keep(here); } });
  addEventListener("beforeunload", (event) => { if (!store && here.some((note) => !note.given)) event.preventDefault(); });
  addEventListener("storage", () => show());

  // --- the day ---------------------------------------------------------------------------------
  const day = form.elements.day;
  const today = () => {
    const now = new Date(), two = (number) => String(number).padStart(2, "0");
    return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
  };
  let shownDay = "";
  const newDay = () => {
    if (!shownDay || day.value === shownDay) day.value = today();
    shownDay = day.max = today();
  };
  addEventListener("visibilitychange", newDay);
  newDay();

  // --- a note as a line of text ------------------------------------------------------------------
  const newId = () => {
    const letters = "abcdefghijkmnpqrstuvwxyz23456789";
    return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => letters[byte % 32]).join("");
  };
  const oneLine = (text) => text.trim().replace(/\s+/g, " ");
  const escaped = (text) => text.replace(/[%|\n\r]/g, encodeURIComponent);
  const line = (note) => [note.id, note.day, escaped(note.limb), note.kind, note.value, ...(note.words ? [note.words] : [])].join(" | ");
  const asText = () => [says.head, ...read().map(line)].join("\n") + "\n";
  const dayWords = (day) => new Date(day + "T12:00").toLocaleDateString(document.documentElement.lang,
    { weekday: "short", day: "numeric", month: "short", year: "numeric" });
  const told = (note) => [dayWords(note.day), note.limb === "all" ? says.whole : `${note.limb} ${note.variety || ""}`.trim(), note.said, ...(note.words ? [note.words] : [])].join(" · ");

  // --- noting ------------------------------------------------------------------------------------
  const number = /^[-−+]?\d+([.,]\d+)?( ?\S+)?$/, share = /^(\d+) ?(?:\/|of) ?(\d+)$/;
  const sound = (field) => {
    if (field.dataset.form === "share") {
      const found = field.value.trim().match(share);
      return Boolean(found) && Number(found[1]) <= Number(found[2]) && Number(found[2]) > 0;
    }
    return field.dataset.form !== "number" || number.test(field.value.trim());
  };
  const filled = () => [...form.querySelectorAll("[data-form]")].filter((field) => field.type === "checkbox" ? field.checked : field.value.trim());
  const shownValue = (field) => field.tagName === "SELECT" ? field.selectedOptions[0].text : field.value.trim();

  const seen = (button) => [
    ...(button && button.value ? [{ kind: "stage", value: button.value, said: button.textContent.trim() }] : []),
    ...filled().map((field) => ({
      kind: field.name,
      value: oneLine(field.value),
      said: field.type === "checkbox" ? field.dataset.label : `${field.dataset.label}: ${shownValue(field)}`,
      garden: "garden" in field.dataset,
    })),
  ];
  const variety = () => form.querySelector(".tile :checked + span > bdi")?.textContent;
  const problem = (notes, limb) => {
    const wrong = filled().find((field) => !sound(field));
    if (wrong) { wrong.closest("details")?.setAttribute("open", ""); wrong.focus(); return fill(says.number, { field: wrong.dataset.label }); }
    if (!notes.length) return says.nothing;
    if (!limb && notes.some((note) => !note.garden)) return says.limb;
    return !/^\d{4}-\d\d-\d\d$/.test(day.value) || day.value > today() ? says.day : "";
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const limb = form.elements.limb.value || "", words = oneLine(form.elements.note.value);
    const found = seen(event.submitter), fault = problem(found, limb);
    if (fault) return say(fault);
    const notes = found.map(({ garden, ...note }) => ({ ...note, id: newId(), day: day.value, limb: garden ? "all" : limb, variety: garden ? "" : variety(), words }));
    if (!keep([...read(), ...notes])) return say(says.full);
    const gone = new Set(notes.map((note) => note.id));
    say(fill(says.kept, { note: notes.map(told).join("; ") }), () => takeBack(gone));
    for (const field of filled()) { if (field.type === "checkbox") field.checked = false; else field.value = ""; }
    form.elements.note.value = "";
    show();
  });
  const takeBack = (ids) => {
    const gone = read().filter((note) => ids.has(note.id));
    keep(read().filter((note) => !ids.has(note.id)));
    say(fill(says.gone, { note: gone.map(told).join("; ") }));
    show();
  };

  // --- one limb of many: by a part of its name, or by the text of its label ------------------
  const tiles = [...form.querySelectorAll(".tile")], find = one("find");
  const plain = (text) => text.toLocaleLowerCase().replace(/\s+/g, " ").trim();
  one("finding").hidden = tiles.length <= 12;
  find.addEventListener("input", () => {
    const typed = plain(find.value);
    for (const tile of tiles) {
      const id = plain(tile.querySelector("input").value);
      tile.hidden = !plain(tile.textContent).includes(typed) && !(typed.includes(id + " ") || typed.endsWith(id));
    }
  });
  find.addEventListener("keydown", (event) => {
    if (event.key !== "Enter") return;
    event.preventDefault();
    const found = tiles.filter((tile) => !tile.hidden);
    if (found.length === 1) found[0].querySelector("input").checked = true;
  });

  // --- what is said, and what is kept ---------------------------------------------------------
  const say = (text, undo) => {
    one("said").textContent = text + " ";
    if (undo) one("said").append(button(says.undo, undo));
  };
  const button = (text, press) => {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", press);
    return made;
  };
  const show = () => {
    const notes = read();
    one("count").textContent = notes.length ? fill(notes.length === 1 ? says.one : says.many, { number: notes.length }) : says.none;
    one("tally").textContent = notes.length ? `(${notes.length})` : "";
    one("giving").hidden = !notes.length;
    one("not-kept").hidden = Boolean(store);
    one("text").value = asText();
    one("kept").replaceChildren(...notes.map((note) => {
      const item = document.createElement("li"), text = document.createElement("span"), back = button(says.back, () => takeBack(new Set([note.id])));
      text.textContent = told(note);
      text.dir = "auto";
      back.setAttribute("aria-label", `${says.back}: ${told(note)}`);
      item.append(text, back);
      return item;
    }).reverse());
  };

  // --- giving back -----------------------------------------------------------------------------
  const given = (text) => {
    keep(read().map((note) => ({ ...note, given: true })));
    one("given").textContent = text;
  };
  one("share").hidden = !navigator.share;
  one("share").addEventListener("click", () => {
    navigator.share({ title: says.head, text: asText() }).then(() => given(""), () => {});
  });
  const mark = () => {
    one("text-shown").open = true;
    one("text").focus();
    one("text").select();
    if (attempt(() => document.execCommand("copy"))) given(says.copied);
    else one("given").textContent = says.chosen;
  };
  one("copy").addEventListener("click", () => {
    const copied = attempt(() => navigator.clipboard.writeText(asText()));
    if (copied) copied.then(() => given(says.copied), mark);
    else mark();
  });
  one("save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([asText()], { type: "text/plain" }));
    link.download = "notes.txt";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    given("");
  });
  one("delete").addEventListener("click", () => {
    const rest = read().filter((note) => !note.given).length;
    one("sure-rest").textContent = rest ? fill(says.some, { number: rest }) : says.all;
    one("sure").hidden = false;
    one("delete-no").focus();
  });
  one("delete-no").addEventListener("click", () => { one("sure").hidden = true; one("delete").focus(); });
  one("delete-yes").addEventListener("click", () => {
    keep([]);
    one("sure").hidden = true;
    one("given").textContent = one("said").textContent = "";
    show();
  });

  one("no-script").remove();
  show();
})();
