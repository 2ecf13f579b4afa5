package browser

import "strings"

// Fits checks the layout as it is now; see Layout. Each finding fails the test.
func (p *Page) Fits() {
	p.t.Helper()
	if findings := p.Layout(); len(findings) > 0 {
		p.t.Errorf("the layout at this size: %s", strings.Join(findings, "\n"))
	}
}

// Layout says what is wrong with the layout as it is now: what sticks out sideways, text
// that is cut off, broken within a short word or too small to read, things to touch that are less than 48 points high
// or wide (links within a line of text aside), texts and things to touch that lie over
// each other, and what the bar at the bottom covers for good. It leaves the page scrolled
// as it was.
func (p *Page) Layout() []string {
	p.t.Helper()
	return append(Value[[]string](p, sideways), Value[[]string](p, overlaps)...)
}

// sideways looks at each element by itself.
const sideways = `(() => {
	const found = [];
	const tell = (e) => {
		const r = e.getBoundingClientRect();
		return e.tagName.toLowerCase() + (e.id ? "#" + e.id : "") + (e.className && e.className.baseVal === undefined ? "." + e.className.trim().replace(/\s+/g, ".") : "") +
			" " + JSON.stringify((e.innerText || e.getAttribute("aria-label") || "").slice(0, 40)) +
			" at " + [r.left, r.top, r.width, r.height].map((n) => Math.round(n)).join(",");
	};
	const width = document.documentElement.clientWidth;
	if (document.scrollingElement.scrollWidth > width) {
		found.push("the page is " + document.scrollingElement.scrollWidth + " wide on a screen of " + width);
	}
	const scrolls = (e) => {
		for (; e; e = e.parentElement) {
			if (["auto", "scroll"].includes(getComputedStyle(e).overflowX) && e !== document.documentElement && e !== document.body) return true;
		}
		return false;
	};
	// A word of so many letters has room everywhere, and is not hyphenated either. A long text breaks as it begins.
	const most = parseFloat(getComputedStyle(document.documentElement).fontSize) <= 16 ? 12 : 6;
	const parted = (range) => { // over more than one line
		const tops = [...range.getClientRects()].filter((r) => r.width > 1).map((r) => Math.round(r.top));
		return Math.max(...tops) - Math.min(...tops) > 4;
	};
	const broken = (n) => {
		const all = document.createRange();
		all.selectNodeContents(n);
		if (!parted(all)) return "";
		for (const {0: word, index} of n.data.slice(0, 2000).matchAll(/(?<![^\s(“„«"–-])\p{Script=Latin}{2,12}(?![\p{L}\p{N}])/gu)) {
			if (word.length > most) continue;
			const range = document.createRange();
			range.setStart(n, index);
			range.setEnd(n, index + word.length);
			if (parted(range)) return word;
		}
		return "";
	};
	for (const e of document.body.querySelectorAll("*")) {
		if (!e.checkVisibility({opacityProperty: true, visibilityProperty: true}) || e.closest("svg") && e.tagName !== "svg") continue;
		const r = e.getBoundingClientRect(), style = getComputedStyle(e);
		// What only a screen reader gets is a point in size.
		if (r.width <= 1 || r.height <= 1 || style.clipPath !== "none") continue;
		const hasText = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
		if ((r.right > width + 1 || r.left < -1) && !scrolls(e)) found.push("sticks out: " + tell(e));
		if (hasText && ["hidden", "clip"].includes(style.overflowX) && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 2)) {
			found.push("is cut off: " + tell(e));
		}
		for (const n of e.childNodes) {
			const word = n.nodeType === Node.TEXT_NODE && broken(n);
			if (word) found.push("is broken within " + JSON.stringify(word) + ": " + tell(e));
		}
		const touch = e.matches("button, a[href], input:not([type=hidden]), select, textarea, summary");
		const inLine = e.matches("a") && style.display === "inline";
		if (touch && !inLine) {
			// A label's area counts as its field's.
			const boxes = [r, ...[...(e.labels || [])].map((l) => l.getBoundingClientRect())];
			if (!boxes.some((b) => b.height >= 47.5 && b.width >= 47.5)) found.push("is small to touch: " + tell(e));
		}
	}
	return found.slice(0, 20);
})()`

// overlaps compares the boxes of all visible texts and things to touch that are not
// inside each other. What passes under a bar that stays in place is compared once the
// page is scrolled to its end: there everything has to have come clear of it.
const overlaps = `(() => {
	const found = [];
	const clear = 2; // points by which boxes may touch
	const small = 11; // points below which letters are not read on a phone at arm's length
	const say = (b) => b.tag + " " + JSON.stringify(b.text.slice(0, 40)) + " at " + [b.left, b.top, b.right - b.left, b.bottom - b.top].map((n) => Math.round(n)).join(",");
	// stays is the nearest ancestor that stays in place while the page scrolls.
	const stays = (e) => {
		for (; e && e !== document.documentElement; e = e.parentElement) {
			if (["fixed", "sticky"].includes(getComputedStyle(e).position)) return e;
		}
		return null;
	};
	// clipped is the part of a box that its ancestors let through.
	const clipped = (e, r) => {
		let {left, top, right, bottom} = r;
		for (let a = e.parentElement; a && a !== document.body; a = a.parentElement) {
			const style = getComputedStyle(a);
			if (style.overflowX === "visible" && style.overflowY === "visible") continue;
			const c = a.getBoundingClientRect();
			left = Math.max(left, c.left); right = Math.min(right, c.right);
			top = Math.max(top, c.top); bottom = Math.min(bottom, c.bottom);
		}
		return {left, top, right, bottom};
	};
	const boxes = () => {
		const all = [];
		const add = (e, r, text) => {
			const c = clipped(e, r);
			if (c.right - c.left > 2 && c.bottom - c.top > 2) all.push({e, text, tag: e.tagName.toLowerCase(), stays: stays(e), ...c});
		};
		for (const e of document.body.querySelectorAll("*")) {
			if (!e.checkVisibility({opacityProperty: true, visibilityProperty: true})) continue;
			const style = getComputedStyle(e), r = e.getBoundingClientRect();
			if (r.width <= 1 || r.height <= 1 || style.clipPath !== "none") continue;
			const drawn = e.closest("svg");
			if (drawn && e.tagName !== "text") continue;
			if (e.matches("button, a[href], input:not([type=hidden]), select, textarea, summary, label.button")) {
				add(e, r, e.innerText || e.getAttribute("aria-label") || "");
			}
			const texts = [...e.childNodes].filter((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
			let size = parseFloat(style.fontSize);
			if (drawn && texts.length) size *= e.getScreenCTM().a;
			if (texts.length && size < small) found.push("is small to read, " + size.toFixed(1) + ": " + e.tagName + " " + JSON.stringify(e.textContent.slice(0, 40)));
			for (const n of texts) {
				const range = document.createRange();
				range.selectNodeContents(n);
				for (const line of range.getClientRects()) {
					// Letters fill the middle of their line.
					const air = line.height * 0.18;
					if (line.width > 1) add(e, {left: line.left, right: line.right, top: line.top + air, bottom: line.bottom - air}, n.data.trim());
				}
			}
		}
		return all;
	};
	const over = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > clear && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > clear;
	const apart = (a, b) => a.e !== b.e && !a.e.contains(b.e) && !b.e.contains(a.e);
	const compare = (all, told, words) => {
		all.sort((a, b) => a.top - b.top);
		for (let i = 0; i < all.length; i++) {
			for (let j = i + 1; j < all.length && all[j].top < all[i].bottom; j++) {
				if (told(all[i], all[j]) && apart(all[i], all[j]) && over(all[i], all[j])) found.push(words + ": " + say(all[i]) + " and " + say(all[j]));
			}
		}
	};
	compare(boxes(), (a, b) => a.stays === b.stays, "lie over each other");
	const at = scrollY;
	scrollTo({top: document.documentElement.scrollHeight, behavior: "instant"});
	compare(boxes(), (a, b) => a.stays !== b.stays, "does not come clear of what stays in place");
	scrollTo({top: at, behavior: "instant"});
	return found.slice(0, 20);
})()`
