// Proves a warranty card by its code alone: the facts are decoded by the layout that docs/card-code.md states and the
// Ed25519 signature is held against the shop's public keys, all in the browser. Nothing of the code is sent anywhere; only
// its number is, where the page is the shop's own and so can say how the card stands. How the reader's language says and writes
// things is told by the page (web/outside/cardfile.go).

function start(root, known) {
	const form = root.querySelector("form"), field = root.querySelector("textarea"), out = root.querySelector("[data-result]");
	const able = Boolean(globalThis.crypto?.subtle && globalThis.DecompressionStream);
	const carry = (text) => { // to the page in another language
		const code = text.slice(text.indexOf("#") + 1).replace(/\s/g, "");
		for (const link of document.querySelectorAll(".tongues a")) link.hash = code;
	};
	const check = async (text) => {
		out.replaceChildren();
		carry(text);
		try {
			await show(out, known, text);
		} catch (error) {
			if (error instanceof Unable && known.send) {
				field.value = text;
				form.dataset.plain = "yes";
				form.requestSubmit(); // the shop's own program checks it instead
				return;
			}
			verdict(out, error instanceof Wrong ? "fail" : "notmeasured", error instanceof Wrong ? known.words.wrong : known.words.unchecked,
				error instanceof Wrong ? error.message : known.words.unable);
		}
		out.dataset.done = "yes";
	};
	form.addEventListener("submit", (e) => {
		if (form.dataset.plain || (!able && known.send)) return;
		e.preventDefault();
		check(field.value);
	});
	const scanned = () => {
		const text = location.hash.slice(1);
		if (text) check(text);
	};
	addEventListener("hashchange", scanned);
	carry(field.value);
	scanned();
}

// Wrong is a code that proves nothing; Unable is a browser that can't tell.
class Wrong extends Error {}
class Unable extends Error {}

const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

// decoded reads base32 (RFC 4648) without padding, in the one way in which each code is written.
function decoded(typed, words) {
	const text = typed.slice(typed.indexOf("#") + 1).replace(/[\s-]/g, "").toUpperCase()
		.replace(/0/g, "O").replace(/1/g, "I").replace(/8/g, "B");
	const bytes = [];
	let held = 0, bits = 0;
	for (const c of text) {
		const value = alphabet.indexOf(c);
		if (value < 0) throw new Wrong(words.shape);
		held = (held << 5 | value) & 0xfff;
		bits += 5;
		if (bits >= 8) {
			bits -= 8;
			bytes.push(held >> bits & 255);
		}
	}
	if (bits >= 5 || (held & ((1 << bits) - 1)) !== 0 || bytes.length < 124 || bytes[0] !== 1) throw new Wrong(words.shape);
	return Uint8Array.from(bytes);
}

const hex = (bytes) => [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
const fromHex = (text) => Uint8Array.from(text.match(/../g), (pair) => parseInt(pair, 16));

// signed reports whether a key of the shop signed a message.
async function signed(known, id, message, signature) {
	const key = known.keys.find((k) => k.id === id);
	if (!key) throw new Wrong(known.words.unknown);
	let ok;
	try {
		const held = await crypto.subtle.importKey("raw", fromHex(key.public), "Ed25519", false, ["verify"]);
		ok = await crypto.subtle.verify("Ed25519", held, signature, message);
	} catch {
		throw new Unable(); // a browser without Ed25519
	}
	if (!ok) throw new Wrong(known.words.signature);
	return key;
}

async function proven(known, text) {
	const raw = decoded(text, known.words);
	const body = raw.slice(0, -64), tag = new TextEncoder().encode("ledgerwheel/warranty-card-code/1");
	const message = new Uint8Array(tag.length + body.length);
	message.set(tag);
	message.set(body, tag.length);
	const key = await signed(known, hex(body.slice(1, 9)), message, raw.slice(-64));
	const card = await facts(body, known.words);
	if (key.retired && card.issued > key.retired) throw new Wrong(known.words.retired);
	return card;
}

async function facts(body, words) {
	const view = new DataView(body.buffer, body.byteOffset, body.length);
	const milli = (at) => (view.getInt8(at) * 65536 + view.getUint16(at + 1)) / 1000;
	const flags = view.getUint16(48), n = body[59], rates = [];
	for (let i = 0, at = 60; i < n; i++, at += 6) {
		if (at + 6 > body.length) throw new Wrong(words.shape);
		rates.push({ position: ["CH", "FH", "3H", "6H", "9H", "12H"][body[at]], rate: milli(at + 1), amplitude: view.getUint16(at + 4) / 10 });
	}
	let texts = body.slice(60 + 6 * n);
	if (flags & 0x8000) {
		const stream = new Blob([texts]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
		texts = new Uint8Array(await new Response(stream).arrayBuffer());
	}
	const list = new TextDecoder().decode(texts).split("\0");
	if (list.length !== 12) throw new Wrong(words.shape);
	return { number: base32(body.slice(9, 19)), issued: view.getUint32(19), from: view.getUint16(23), until: view.getUint16(25),
		mean: milli(50), delta: milli(53), u: milli(56), rates, texts: list, flags };
}

function base32(bytes) {
	let text = "", held = 0, bits = 0;
	for (const b of bytes) {
		held = (held << 8 | b) & 0xfff;
		for (bits += 8; bits >= 5; bits -= 5) text += alphabet[held >> (bits - 5) & 31];
	}
	return text;
}

// dayIn writes days since 1970 as the card does.
const dayIn = (days) => (n) => {
	const at = new Date(n * 86400000), number = at.getUTCDate();
	return (number === 1 ? days.first : number) + days.months[at.getUTCMonth()] + " " + at.getUTCFullYear();
};

// figure writes a figure to the place in which the uncertainty has two significant digits, as the card does.
function figure(value, u, sign, mark) {
	let text;
	if (u > 0) {
		let places = 1 - Math.floor(Math.log10(u));
		if (Number(u.toFixed(Math.max(0, places))) >= 10 ** (2 - places)) places--;
		text = Math.abs(value).toFixed(Math.max(0, places));
	} else {
		text = String(Math.abs(value));
	}
	const zero = Number(text) === 0;
	return (zero ? "" : value < 0 ? "\u2212" : sign ? "+" : "") + text.replace(".", mark);
}

async function show(out, known, text) {
	const c = await proven(known, text), w = known.words, l = known.labels, day = dayIn(known.days);
	const rate = (value) => figure(value, c.u, true, known.mark);
	const now = new Date(), today = Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) / 86400000;
	verdict(out, "pass", w.signed, today > c.until ? w.ended : today < c.from ? w.ahead : w.running);
	const standingPlace = document.createElement("div");
	out.append(standingPlace);
	const t = c.texts;
	terms(out, "facts", [[l.card, c.number.match(/.{4}/g).join("-")], [l.shop, [t[0], t[1]].filter(Boolean).join(", ")],
		[l.watch, (t[2] + " " + t[3]).trim()], [l.reference, t[4]], [l.calibre, t[5]], [l.case, t[6]], [l.movement, t[7]],
		[l.from, day(c.from)], [l.until, day(c.until)], [l.work, t[10]],
		[l.rates, c.rates.map((r) => r.position + "\u00a0" + rate(r.rate)).join(w.between)],
		[l.mean, c.rates.length ? rate(c.mean) + w.between + figure(c.delta, c.u, false, known.mark) : ""],
		[l.verdict, t[8]], [l.covers, t[11]]]);
	paragraph(out, w.compare, "hint");
	const names = known.parts.filter((_, i) => c.flags >> i & 1);
	if (names.length) paragraph(out, w.partly.replace("{}", names.join(", ")), "quiet");
	if (known.standing) await standing(standingPlace, known, c);
}

// standing asks the shop how the card stands and proves its answer too.
async function standing(out, known, c) {
	let text = "";
	try {
		const answer = await fetch(known.standing.replace("CODE", c.number), { headers: { Accept: "text/plain" } });
		if (answer.status === 404) return verdict(out, "fail", known.words.unkept, known.words.unkeptSays);
		if (answer.ok) text = await answer.text();
	} catch { /* no network: the card stays proven by itself */ }
	const at = text.indexOf("signature: ");
	if (at < 0) return verdict(out, "notmeasured", known.words.standingUnknown, known.words.standingUnknownSays);
	const line = (name) => text.match(new RegExp("^" + name + ": (.*)$", "m"))?.[1] ?? "";
	const signature = Uint8Array.from(atob(text.slice(at + 11).trim()), (ch) => ch.charCodeAt(0));
	await signed(known, line("key"), new TextEncoder().encode(text.slice(0, at)), signature);
	const says = known.standings[line("standing")];
	if (!says || line("card").replaceAll("-", "") !== c.number) throw new Wrong(known.words.signature);
	verdict(out, says.kind, says.word, says.text.replace("{}", line("as of").replace("T", " ").replace("Z", " UTC")));
	const link = document.createElement("a");
	link.href = known.standing.replace("CODE", c.number);
	link.textContent = known.words.keep;
	link.download = "";
	const p = document.createElement("p");
	p.append(link);
	out.append(p);
}

function verdict(out, kind, word, text) {
	const box = document.createElement("div");
	box.className = "verdict";
	box.dataset.verdict = kind;
	const mark = document.querySelector("template[data-mark=" + kind + "]").content.cloneNode(true);
	mark.querySelector(".lozenge > span").textContent = word;
	box.append(mark);
	paragraph(box, text, "");
	out.append(box);
}

function paragraph(to, text, kind) {
	const p = document.createElement("p");
	p.className = kind;
	p.textContent = text;
	to.append(p);
}

function terms(out, kind, list) {
	const dl = document.createElement("dl");
	dl.className = "terms";
	dl.dataset.terms = kind;
	for (const [name, value] of list) {
		if (!value) continue;
		const div = document.createElement("div"), dt = document.createElement("dt"), dd = document.createElement("dd");
		dt.textContent = name;
		dd.textContent = value;
		dd.dir = "auto";
		dd.className = "typed";
		div.append(dt, dd);
		dl.append(div);
	}
	out.append(dl);
}

const root = document.querySelector("[data-card-check]");
if (root) start(root, JSON.parse(root.dataset.cardCheck));
