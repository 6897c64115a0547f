// What has the keyboard while something lies over all of it (WCAG 2.2, 2.4.11), going forwards and back.
(() => {
	const stops = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]")]
		.filter((e) => e.tabIndex >= 0 && !e.disabled && e.checkVisibility({visibilityProperty: true}));
	const found = new Set();
	for (const e of [...stops, ...stops.toReversed()]) {
		e.focus();
		if (document.activeElement !== e) continue;
		const box = e.getBoundingClientRect();
		if (box.width <= 1 || box.height <= 1) continue; // for those who listen; its label is looked at
		const points = [.5, .02, .98, .25, .75].flatMap((x) => [.5, .04, .96, .25, .75].map((y) => [box.x + box.width * x, box.y + box.height * y]));
		const clear = points.some(([x, y]) => { const hit = document.elementFromPoint(x, y); return hit && (e.contains(hit) || hit.contains(e)); });
		if (!clear) {
			const over = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
			found.add(`${e.tagName.toLowerCase()} ${e.dataset.testid ?? e.name ?? e.innerText?.trim().slice(0, 40)} at ${box.x.toFixed()},${box.y.toFixed()} under ${over?.tagName}.${over?.className}`);
		}
	}
	document.activeElement?.blur();
	scrollTo(0, 0);
	return [...found];
})()
