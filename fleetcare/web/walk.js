// The yard's pages where the signal comes and goes: what is answered is kept on the phone first, and sent by
// itself. Nothing is let go of before the server took it, or a person said so. Without a script all works as it is.
// @ts-check

/**
 * What waits to be sent: a form by its fields, when it was filled in, by whom, in which words.
 * @typedef {{ key: string, url: string, fields: Record<string, string | Blob>, at: number, who: string,
 *   what: string, parts?: boolean, van?: string, sheet?: string, line?: string, text?: string,
 *   refused?: string[], changed?: boolean }} Waiting
 * @typedef {{ name: string, van: string, root: string, hire: string, day: string, lines: [string, string][],
 *   rows: [string, string, string][] }} Sheet
 */

const HALF_A_DAY = 12 * 3600 * 1000;
const TEN_MINUTES = 600_000;
const NO_ROOM = "This phone has no room for it: it was not kept. Send it where there is a signal.";
const body = document.body;
const who = body.dataset.who ?? "";
const [opening] = /** @type {PerformanceNavigationTiming[]} */ (performance.getEntriesByType("navigation"));
const fromPhone = opening?.serverTiming.find((one) => one.name === "kept"); // the worker says so
const made = Date.now() - (fromPhone?.duration ?? 0); // when the server made it, by this clock

/** @returns {Promise<IDBDatabase>} */
function opened() {
  const asked = indexedDB.open("fleetcare", 1);
  asked.onupgradeneeded = () => {
    asked.result.createObjectStore("waiting", { keyPath: "order", autoIncrement: true });
    asked.result.createObjectStore("known", { keyPath: "sheet" });
  };
  return new Promise((onsuccess, onerror) => Object.assign(asked, { onsuccess, onerror })).then(() => asked.result);
}

/** @param {"waiting" | "known"} name @param {(store: IDBObjectStore) => IDBRequest} ask */
async function stored(name, ask) {
  const database = await opened();
  try {
    const change = database.transaction(name, "readwrite");
    const asked = ask(change.objectStore(name));
    await new Promise((oncomplete, onabort) => Object.assign(change, { oncomplete, onabort }));
    return asked.result;
  } finally {
    database.close();
  }
}

/** @returns {Promise<(Waiting & { order: number })[]>} */
const waiting = () => stored("waiting", (store) => store.getAll());
/** @param {Waiting} one */
const keep = (one) => stored("waiting", (store) => store.put(one));
/** @param {{ order: number }} one */
const letGo = (one) => stored("waiting", (store) => store.delete(one.order));

/** @param {string} tag @param {string | Node} holds @param {Record<string, string>} [more] */
function made_of(tag, holds, more = {}) {
  const found = document.createElement(tag);
  found.append(holds);
  for (const [name, value] of Object.entries(more)) found.setAttribute(name, value);
  return found;
}

/** One after the other, in the order they were filled in, by one page at a time. */
async function send() {
  await navigator.locks.request("sending", async () => {
    for (const { order } of await waiting()) {
      const one = await stored("waiting", (store) => store.get(order)); // as it is by now
      if (!one || one.refused || one.who !== who) continue; // and no sheet is signed without what was refused of it:
      if ((one.fields.state && (await waiting()).some((each) => each.refused && each.order < order)) || !(await sent(one))) break;
    }
  });
  await show();
}

/** Whether the server gave an answer. @param {Waiting & { order: number }} one */
async function sent(one) {
  const ago = String(Math.max(0, Math.round((Date.now() - one.at) / 1000)));
  const fields = { ...one.fields, token: body.dataset.token ?? "", key: one.key, ago };
  const parts = new FormData();
  for (const [name, value] of Object.entries(fields)) parts.append(name, value);
  const typed = /** @type {any} */ (parts); // what no file goes along with is sent as typed
  const answer = await fetch(one.url, {
    method: "POST", headers: { Accept: "application/json" }, body: one.parts ? parts : new URLSearchParams(typed),
  }).catch(() => null);
  if (!answer) return false; // no signal
  if (answer.ok) {
    if (one.sheet && one.line) await remember(one.sheet, one.line, one.text ?? "");
    await letGo(one);
    await raise(one, (await answer.json()).size);
    return true;
  }
  if (answer.status >= 500 || [401, 403, 408].includes(answer.status)) {
    body.dataset.stopped = String(answer.status);
    return false; // signed out, or the book gives no answer: it waits
  }
  const nothing = { faults: [`It was refused (${answer.status}).`], since: [] };
  const said = await answer.json().catch(() => nothing);
  const refused = [...said.faults, ...said.since, said.answer].filter(Boolean);
  await keep({ ...one, refused, changed: said.since.length > 0 });
  return true;
}

/** What this phone wrote of a van is known to what it still has to send of it: nobody else wrote of it since
 * that was shown, or it would not have been taken. @param {Waiting} one @param {number | null} size */
async function raise(one, size) {
  const shown = Number(one.fields.shown);
  for (const next of size && one.van ? await waiting() : []) {
    if (next.van === one.van && Number(next.fields.shown) >= shown) {
      await keep({ ...next, fields: { ...next.fields, shown: String(size) } });
    }
  }
}

/** An answer that the server has taken. @param {string} name @param {string} line @param {string} text */
async function remember(name, line, text) {
  const known = await stored("known", (store) => store.get(name));
  const rows = (known?.rows ?? []).filter((/** @type {string[]} */ row) => row[0] !== line);
  rows.push([line, text, who]);
  await stored("known", (store) => store.put({ sheet: name, made: Date.now(), rows }));
}

/** What waits, and what was refused, at the head of the page. */
async function show() {
  const listed = await waiting();
  const head = document.querySelector("#waiting") ?? made_of("section", "", { id: "waiting" });
  head.replaceChildren();
  if (fromPhone) head.append(made_of("p", `No signal. This page is as of ${hour(made)}.`));
  for (const one of listed.filter((each) => each.refused && each.who === who)) head.append(refusal(one));
  const mine = listed.filter((one) => !one.refused && one.who === who);
  if (mine.length) {
    const why = /40[13]/.test(body.dataset.stopped ?? "") ? "Sign in again" : "There is no signal";
    head.append(made_of("p", `${mine.length} not sent yet, kept on this phone. ${why}: then they are sent by themselves.`));
  }
  for (const name of new Set(listed.map((one) => one.who).filter((name) => name !== who))) {
    head.append(made_of("p", `What ${name} filled in waits until ${name} signs in on this phone.`));
  }
  head.className = head.childElementCount ? "note" : "";
  head.setAttribute("role", "status");
  document.querySelector("h1")?.before(head);
  await overlay(listed);
}

const hour = (/** @type {number} */ at) => new Date(at).toTimeString().slice(0, 5);

/** What the server did not take: a person says what becomes of it. @param {Waiting & { order: number }} one */
function refusal(one) {
  const box = made_of("section", "", { class: "wrong", role: "alert" });
  box.append(made_of("h2", `Not taken: ${one.what}`));
  for (const line of one.refused ?? []) box.append(made_of("p", line));
  const anew = `${one.url}?line=${encodeURIComponent(one.line ?? "")}`;
  const again = made_of("button", one.changed ? "Mine holds: send it" : "Send it again", { class: "big" });
  again.addEventListener("click", async () => {
    if (one.line) one.fields.was = await shownNow(anew); // whoever sends again has read it
    await keep({ ...one, refused: undefined });
    await send();
  });
  if (one.line) box.append(made_of("a", "Answer it anew", { class: "next", href: anew }));
  const away = made_of("button", "Let go of it", { class: "big bad" });
  away.addEventListener("click", async () => {
    await letGo(one);
    location.reload();
  });
  if (one.changed || !one.line) box.append(again);
  box.append(away);
  return box;
}

/** What a line says on the server now. @param {string} url */
async function shownNow(url) {
  const read = new DOMParser().parseFromString(await (await fetch(url)).text(), "text/html");
  return read.querySelector("input[name=was]")?.getAttribute("value") ?? "";
}

const stands = document.querySelector("#sheet");
/** @type {Sheet | null} */
const sheet = stands instanceof HTMLElement ? JSON.parse(stands.dataset.sheet ?? "null") : null;

/** Of the newest page, sent since, waiting. @param {Waiting[]} listed @returns {Promise<Map<string, [string, string]>>} */
async function answers(listed) {
  if (!sheet) return new Map();
  let known = await stored("known", (store) => store.get(sheet.name));
  if (!known || known.made < made) {
    known = { sheet: sheet.name, made, rows: sheet.rows };
    await stored("known", (store) => store.put(known));
  }
  const found = new Map();
  for (const [line, text, by] of known.rows) found.set(line, [text, by]);
  for (const one of listed) if (one.sheet === sheet.name && one.line) found.set(one.line, [one.text, one.who]);
  return found;
}

/** What waits, among what is answered so far. @param {Waiting[]} listed */
async function overlay(listed) {
  if (!sheet) return;
  const found = await answers(listed);
  const list = document.querySelector("#answered");
  list?.replaceChildren(
    ...sheet.lines.filter(([name]) => found.has(name)).flatMap(([name, title]) => {
      const [text, by] = found.get(name) ?? ["", ""];
      const waits = listed.some((one) => one.sheet === sheet.name && one.line === name);
      const term = made_of("dt", made_of("a", title, { href: address(name) }));
      return [term, made_of("dd", `${text} (${by}${waits ? ", not sent yet" : ""})`)];
    }),
  );
  document.querySelector("#count")?.replaceChildren(`${found.size} of ${sheet.lines.length}`);
  document.querySelector("progress")?.setAttribute("value", String(found.size));
}

const address = (/** @type {string} */ line) => `${sheet?.root}?line=${encodeURIComponent(line)}`;

/** The text that an answer is kept as. @param {FormData} typed */
function said(typed) {
  const read = (/** @type {string} */ name) => String(typed.get(name) ?? "").trim();
  if (read("quick")) return read("quick");
  if (read("words")) return `${read("grade")}: ${read("words")}`;
  return read("answer") + (/^[0-9]+(\.[0-9]+)?$/.test(read("answer")) ? read("unit") : "");
}

/** Keep an answer, send it if it can be, and go on with the next line. @param {FormData} typed */
async function answered(typed) {
  if (!sheet) return;
  const line = String(typed.get("line"));
  const text = said(typed);
  if (!text) return;
  const listed = await waiting();
  const before = listed.find((one) => one.sheet === sheet.name && one.line === line);
  const known = (await answers(listed.filter((one) => one !== before))).get(line);
  const was = before ? before.fields.was : (known?.[0] ?? "");
  const fields = { line, answer: text, was, day: sheet.day };
  const what = `${document.querySelector(".line h2")?.textContent}: ${text}`;
  await keep({ key: crypto.randomUUID(), url: sheet.root, fields, at: Date.now(), who, line, text, what, sheet: sheet.name });
  if (before) await letGo(before);
  await send();
  const found = await answers(await waiting());
  const place = sheet.lines.findIndex(([name]) => name === line);
  const order = [...sheet.lines.slice(place + 1), ...sheet.lines.slice(0, place)];
  location.assign(address(order.find(([name]) => !found.has(name))?.[0] ?? ".end"));
}

/** Keep a form that may wait, and say so. @param {HTMLFormElement} form @param {FormData} typed */
async function later(form, typed) {
  const fields = Object.fromEntries(typed);
  if (sheet) fields.day = sheet.day;
  if (sheet && "state" in fields) { // what was shown, as the server tells it
    const rows = [...(await answers(await waiting()))].map(([line, [text, by]]) => [line, text, by]);
    fields.state = JSON.stringify(rows.sort((one, other) => (one[0] < other[0] ? -1 : 1)));
  }
  const url = form.dataset.left ?? form.action;
  if (form.dataset.left) {
    const yes = form.dataset.answer === "yes" && Date.now() - made < HALF_A_DAY;
    const words = `The last answer was "${form.dataset.answer}", at ${hour(made)}, on ${form.dataset.size} records.`;
    if (!yes) return say(`No signal. ${words} Unknown: do not hire.`);
    if (!confirm(`No signal. ${words} Write down that it leaves on that answer? It is judged again when it is sent.`)) return;
    fields.rests_on = form.dataset.size ?? "";
    delete fields.shown;
  }
  await keep({ key: crypto.randomUUID(), url, fields, at: Date.now(), who, van: sheet?.van,
    what: form.dataset.later ?? "", parts: form.enctype.startsWith("multipart") });
  form.reset();
  await send();
}

const say = (/** @type {string} */ words) => document.querySelector("h1")?.after(made_of("p", words, { class: "wrong", role: "alert" }));

/** @param {SubmitEvent} event */
async function submitted(event) {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (form.dataset.answers === undefined && form.dataset.later === undefined) return;
  const typed = new FormData(form, event.submitter);
  event.preventDefault();
  if (form.dataset.answers !== undefined) await answered(typed);
  else {
    await send();
    const mine = (await waiting()).filter((one) => !one.refused && one.who === who);
    const there = fetch("/health", { signal: AbortSignal.timeout(5000) }).then(() => true, () => false);
    document.querySelector("#ready")?.replaceChildren(form.dataset.keeps ?? "");
    if (form.dataset.keeps || mine.length || !(await there)) await later(form, typed);
    else form.submit();
  }
}

/** The hirer signs on the glass: what is drawn goes along with the form, as a picture. */
function glass() {
  const [surface, file] = [document.querySelector("canvas"), document.querySelector("#signature")];
  const pen = surface?.getContext("2d");
  if (!surface || !pen || !(file instanceof HTMLInputElement)) return;
  surface.onpointerdown = (event) => {
    surface.setPointerCapture(event.pointerId);
    pen.beginPath();
  };
  let drawn = false; // a tap signs nothing
  surface.onpointermove = (event) => {
    const scale = surface.width / surface.clientWidth;
    if (!event.buttons) return;
    pen.lineTo(event.offsetX * scale, event.offsetY * scale);
    pen.stroke();
    drawn = true;
  };
  surface.onlostpointercapture = () => { // at the end of each stroke, whoever ended it
    const chosen = new DataTransfer();
    const octets = Uint8Array.from(atob(surface.toDataURL().split(",")[1]), (one) => one.charCodeAt(0));
    if (drawn) chosen.items.add(new File([octets], "signature.png", { type: "image/png" }));
    file.files = chosen.files;
  };
  const wipe = () => {
    Object.assign(pen, { fillStyle: "white", lineWidth: 8 }); // the paper is white in the dark too
    pen.fillRect(0, 0, surface.width, surface.height);
    [file.value, drawn] = ["", false];
  };
  document.querySelector("#wipe")?.addEventListener("click", wipe);
  wipe();
  body.classList.add("glass"); // the style sheet shows it in the field's place
}

/** Have every page of the sheet on the phone before the signal goes. */
async function prepare() {
  const workers = navigator.serviceWorker;
  void navigator.storage.persist(); // what waits is not to be cleared away
  await workers.register("/worker.js");
  const { active } = await workers.ready;
  if (!workers.controller) {
    const taken = new Promise((resolve) => (workers.oncontrollerchange = resolve));
    active?.postMessage("claim");
    await taken;
  }
  if (!sheet) return;
  if (Number(sessionStorage.getItem(sheet.name + body.dataset.token)) < Date.now() - TEN_MINUTES) {
    const lines = [...sheet.lines.map(([name]) => name), ".end"].map(address);
    for (const url of [sheet.root, ...lines, sheet.hire, "/yard", "/style.css", "/walk.js"]) await fetch(url);
    sessionStorage.setItem(sheet.name + body.dataset.token, String(Date.now()));
  }
  document.querySelector("#ready")?.replaceChildren("All of it is on this phone: it goes on without a signal.");
}

/** Begin: what waits is sent now, when the signal comes back, and when the page is looked at. */
async function begin() {
  document.addEventListener("submit", (event) => submitted(event).catch(() => say(NO_ROOM)));
  glass();
  const taken = /** @type {HTMLInputElement | null} */ (document.querySelector("#photo"));
  taken?.addEventListener("change", () => taken.form?.requestSubmit()); // it is kept by itself
  window.addEventListener("online", () => void send());
  document.addEventListener("visibilitychange", () => void send());
  setInterval(async () => ((await waiting()).length ? send() : undefined), 20_000);
  await send();
  await prepare();
}

if (window.isSecureContext && who) void begin();
else if (sheet) say("These pages are not served over TLS: without a signal nothing is kept on this phone.");
