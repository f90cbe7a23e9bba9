// On the phone: files are chosen, cut into pieces, sealed with the key in the address, and sent; after a lost connection it goes on where it stopped.
const PIECE_BYTES = 512 * 1024; // as the computer takes them
const AGAIN_MS = 1500;
const ANSWER_MS = 20000; // a piece takes a second; without this a phone out of reach would wait for a quarter of an hour
const GIVEN_UP_MS = 120000;
const SHOWS = { front: "your front", right: "your right side", back: "your back", left: "your left side" };
const { nacl } = window;
const byId = (id) => document.getElementById(id);
const [told, list, choose, enough] = ["told", "list", "choose", "enough"].map(byId);
const key = keyOf(location.hash.slice(1));
let waiting = Promise.resolve();
let over = false;

/** The computer did not answer, or what came was not from it. */
class LostError extends Error {}
/** The computer does not want it; the message says why. */
class RefusedError extends Error {}

begin();

async function begin() {
  if (!key) return end("This page works only by the code on your computer’s screen. Point the camera at it again.");
  try {
    await untilHeard({ asks: "have", file: "0".repeat(32) });
  } catch (error) {
    return end(error.message);
  }
  say("Choose what your computer is to get.");
  choose.hidden = false;
}

for (const id of ["photos", "film"])
  byId(id).addEventListener("change", ({ target }) => {
    for (const file of target.files) {
      const item = show(file);
      waiting = waiting.then(() => send(file, item));
    }
    target.value = "";
  });

enough.addEventListener("click", async () => {
  enough.hidden = true;
  try {
    await untilHeard({ asks: "enough" });
  } catch {
    // closed already: that is what was wanted
  }
  end("All is over. Go on at your computer.", false);
});

/** Send a file, piece by piece. @param {File} file @param {ReturnType<typeof show>} item */
async function send(file, item) {
  if (over) return item.say("Not sent.", true);
  byId("keep").hidden = false;
  enough.hidden = true;
  const name = hex(nacl.hash(words([file.name, file.size, file.lastModified])).subarray(0, 16));
  try {
    let answer = await untilHeard({ asks: "have", file: name }, undefined, item);
    while ("have" in answer || answer.looking) {
      if (answer.looking) {
        item.say("Your computer looks at it…");
        await pause(AGAIN_MS);
        answer = await untilHeard({ asks: "have", file: name }, undefined, item);
        continue;
      }
      item.share(file.size ? answer.have / file.size : 1);
      const piece = await read(file.slice(answer.have, answer.have + PIECE_BYTES));
      if (answer.have + piece.length === file.size) item.say("Your computer looks at it…");
      answer = await untilHeard({ asks: "piece", file: name, at: answer.have, size: file.size }, piece, item);
    }
    item.share(1);
    result(answer, item);
  } catch (error) {
    item.say(error.message, true);
    if (error instanceof LostError) return end(error.message);
  }
  if (!over) say("Choose more, or say below that this is all.");
  enough.hidden = over;
}

/** What came of a whole file. */
function result(answer, item) {
  if (answer.film) item.say("The film is there.");
  else {
    const { view, seems, trouble } = answer.photo;
    const shows = SHOWS[view || seems] || "";
    item.say(trouble ? `${shows ? `Take ${shows} again. ` : ""}${trouble}` : shows ? `It is there, and shows ${shows}.` : "It is there. Say on your computer which view it is.", Boolean(trouble));
  }
  if (answer.over) end("All is there. Go on at your computer.", false);
}

/** Ask until there is an answer; a lost connection is tried again. */
async function untilHeard(said, piece, item) {
  const began = Date.now();
  for (;;) {
    try {
      const answer = await ask(said, piece);
      if (answer.problem) throw new RefusedError(answer.problem);
      if (item) say("Your computer gets it…");
      return answer;
    } catch (error) {
      if (!(error instanceof LostError)) throw error;
      if (Date.now() - began > GIVEN_UP_MS || error.final) throw error;
      say("The connection is lost. Trying again…", true);
      await pause(AGAIN_MS);
    }
  }
}

/** One question, sealed, and its answer. */
async function ask(said, piece = new Uint8Array(0)) {
  const nonce = nacl.randomBytes(nacl.secretbox.nonceLength);
  const head = words(said);
  const sealed = nacl.secretbox(joined(new Uint8Array([head.length >> 8, head.length & 255]), head, piece), nonce, key);
  const limit = new AbortController();
  const timer = setTimeout(() => limit.abort(), ANSWER_MS);
  let response, bytes;
  try {
    response = await fetch("/say", { method: "POST", body: joined(nonce, sealed), signal: limit.signal });
    bytes = new Uint8Array(await response.arrayBuffer());
  } catch {
    throw new LostError("Your computer does not answer. If its page says that it lets the phone in no more, ask there for a new code.");
  } finally {
    clearTimeout(timer);
  }
  if (response.status === 403 || response.status === 410) throw Object.assign(new LostError("This code holds no more. Point the camera at the code that is on your computer’s screen now."), { final: true });
  const plain = response.ok && nacl.secretbox.open(bytes.subarray(nonce.length), bytes.subarray(0, nonce.length), key);
  if (!plain) throw new LostError("What came back was not from your computer.");
  const answer = JSON.parse(new TextDecoder().decode(plain.subarray(2, 2 + plain[0] * 256 + plain[1])));
  if (answer.answers !== hex(nonce)) throw new LostError("What came back was not from your computer.");
  return answer;
}

/** A file's place in the list. @param {File} file */
function show(file) {
  const item = list.appendChild(document.createElement("li"));
  const bar = Object.assign(document.createElement("progress"), { max: 1, value: 0 });
  const text = Object.assign(document.createElement("p"), { textContent: "Waits for its turn" });
  const name = Object.assign(document.createElement("strong"), { textContent: file.name.slice(0, 60) });
  bar.setAttribute("aria-label", name.textContent);
  item.append(name, bar, text);
  return {
    share: (share) => {
      bar.value = share;
      text.textContent = `${Math.round(100 * share)} % sent`;
    },
    say: (sentence, repeat = false) => {
      text.textContent = sentence;
      text.className = repeat ? "repeat" : "";
    },
  };
}

/** @param {string} text */
function say(text, problem = false) {
  if (told.textContent !== text) told.textContent = text;
  told.className = problem ? "problem" : "";
}

/** Nothing can be sent any more. */
function end(text, problem = true) {
  over = true;
  say(text, problem);
  for (const part of [choose, enough, byId("keep")]) part.hidden = true;
}

function pause(ms) {
  return new Promise((done) => setTimeout(done, ms));
}

async function read(part) {
  try {
    return new Uint8Array(await part.arrayBuffer());
  } catch {
    throw new RefusedError("The phone does not give this file out any more. Choose it again.");
  }
}

function keyOf(text) {
  try {
    const bytes = Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (letter) => letter.charCodeAt(0));
    return bytes.length === nacl.secretbox.keyLength ? bytes : null;
  } catch {
    return null;
  }
}

function words(said) {
  return new TextEncoder().encode(JSON.stringify(said));
}

function joined(...parts) {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

function hex(bytes) {
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
