// What a finger is asked to hit, and can't within 44 px either way. Exempt is what WCAG 2.2 exempts (2.5.8): links in
// running text. A box or round button is as large as its label. What is drawn smaller is felt for: how far from its
// middle does a tap still reach it?
(() => {
	const least = 44, slack = 1;
	const aside = (e) => { // for those who listen, and what comes in sight only with the keyboard
		const box = e.getBoundingClientRect();
		return box.width <= 1 || box.height <= 1 || e.matches(".skip, .aside");
	};
	const inText = (e) => {
		if (e.tagName !== "A" || getComputedStyle(e).display !== "inline") return false;
		let block = e.parentElement;
		while (getComputedStyle(block).display === "inline") block = block.parentElement;
		return block.innerText.trim().length > e.innerText.trim().length + 1 && !e.matches(".number, .tel");
	};
	const labels = (e) => ["checkbox", "radio", "file"].includes(e.type) ? [...(e.labels ?? [])] : [];
	const reach = (e, x, y, dx, dy) => {
		for (let n = 0; n < least; n++) {
			const hit = document.elementFromPoint(x + dx * (n + 1), y + dy * (n + 1));
			if (!hit || !(e.contains(hit) || labels(e).some((l) => l.contains(hit)))) return n;
		}
		return least;
	};
	const small = (e) => {
		const boxes = [e, ...labels(e)].flatMap((b) => [...b.getClientRects()]);
		if (boxes.some((b) => b.width >= least - slack && b.height >= least - slack)) return "";
		e.scrollIntoView({block: "center", inline: "center", behavior: "instant"});
		const box = e.getClientRects()[0], x = box.x + box.width / 2, y = box.y + box.height / 2;
		const width = reach(e, x, y, -1, 0) + reach(e, x, y, 1, 0), height = reach(e, x, y, 0, -1) + reach(e, x, y, 0, 1);
		return width >= least - slack && height >= least - slack ? "" : `${width} × ${height}`;
	};
	const found = [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]")]
		.filter((e) => e.checkVisibility({visibilityProperty: true, opacityProperty: true}) && !e.disabled && !inText(e) &&
			(!aside(e) || labels(e).length > 0))
		.flatMap((e) => {
			const size = small(e);
			const name = e.dataset.testid || e.name || e.innerText?.trim().slice(0, 40) || e.getAttribute("aria-label");
			return size ? [`${e.tagName.toLowerCase()}.${e.className?.baseVal ?? e.className} ${name}: ${size}`] : [];
		});
	scrollTo(0, 0);
	return found;
})()
