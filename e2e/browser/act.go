package browser

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/chromedp/chromedp"
)

// tick is how long to wait before looking at a page again.
const tick = 15 * time.Millisecond

// quote writes a text as JavaScript does.
func quote(text string) string {
	b, _ := json.Marshal(text) // strings always marshal
	return string(b)
}

// lookup is JavaScript that finds the one thing a person could mean by a selector: the first that is in sight, and says
// why it can't be used otherwise.
const lookup = `
const find = (selector) => {
	const all = [...document.querySelectorAll(selector)];
	if (all.length === 0) throw new Error("nothing on the page is " + selector);
	const seen = all.filter(e => e.type === "hidden" ? false : e.checkVisibility({visibilityProperty: true, opacityProperty: true}));
	if (seen.length === 0) throw new Error("out of sight: " + selector);
	const usable = seen.find(e => !e.disabled);
	if (!usable) throw new Error("disabled: " + selector);
	return usable;
};`

// script runs lookup and then the body of a function, whose value is returned.
func script[T any](t *Tab, body string) (T, error) {
	return Eval[T](t, "(() => {"+lookup+body+"})()")
}

// Fill puts text into the field that the selector finds, in place of what was there: typed text as if by a keyboard's
// composing, choices and days as a person would choose them.
func (t *Tab) Fill(selector, text string) error {
	kind, err := script[string](t, `
		const field = find(`+quote(selector)+`), text = `+quote(text)+`;
		field.scrollIntoView({block: "center"});
		const changed = () => { for (const e of ["input", "change"]) field.dispatchEvent(new Event(e, {bubbles: true})); };
		if (field.tagName === "SELECT") {
			const option = [...field.options].find(o => o.value === text) ?? [...field.options].find(o => o.text.trim() === text);
			if (!option || option.disabled) throw new Error("not offered: " + text + " among " + [...field.options].map(o => o.value).join(", "));
			field.value = option.value;
			changed();
			return "chosen";
		}
		if (["date", "datetime-local", "time", "number"].includes(field.type)) {
			field.value = text;
			if (field.value !== text) throw new Error("the field does not take " + text);
			changed();
			return "chosen";
		}
		field.focus();
		field.select();
		return "typed";`)
	if err != nil || kind != "typed" {
		return err
	}
	if text == "" {
		return t.Keys("\b")
	}
	return t.do(func(ctx context.Context) error { return t.engine.insert(ctx, text) })
}

// Click clicks what the selector finds, with the mouse, where the person sees it. Where the page moved it out of sight
// again, as one that is still being laid out does, it is brought back.
func (t *Tab) Click(selector string) error {
	for range 3 {
		if err := t.BringIntoSight(selector); err != nil {
			return err
		}
		at, err := script[[]float64](t, `
			const target = find(`+quote(selector)+`);
			const box = target.getClientRects()[0];
			const x = box.x + box.width / 2, y = box.y + box.height / 2;
			const hit = document.elementFromPoint(x, y);
			if (!hit)
				return [];
			if (!(target.contains(hit) || hit.contains(target) || [...(target.labels ?? [])].some(l => l.contains(hit))))
				throw new Error("something lies over " + `+quote(selector)+` + ": " + hit.outerHTML.slice(0, 120));
			return [x, y];`)
		if err != nil {
			return err
		}
		if len(at) == 2 {
			return t.ClickAt(at[0], at[1])
		}
	}
	return fmt.Errorf("%s does not stay in sight", selector)
}

// BringIntoSight scrolls to what the selector finds. Firefox finds what lies under a spot in what it drew last, so there
// it waits until that is drawn.
func (t *Tab) BringIntoSight(selector string) error {
	drawn := "true"
	if t.InFirefox() {
		drawn = `new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn(true))))`
	}
	_, err := script[bool](t, `
		find(`+quote(selector)+`).scrollIntoView({block: "center", behavior: "instant"});
		return `+drawn)
	return err
}

// ClickAt clicks at a spot of the window, in CSS pixels from its upper left corner.
func (t *Tab) ClickAt(x, y float64) error {
	return t.do(func(ctx context.Context) error { return t.engine.click(ctx, x, y) })
}

// Press clicks what the selector finds and waits for the page that follows.
func (t *Tab) Press(selector string) error {
	return t.ToNextPage(func() error { return t.Click(selector) })
}

// ToNextPage does something that leads to another page and waits until that has loaded.
func (t *Tab) ToNextPage(do func() error) error {
	if _, err := Eval[bool](t, `window.leavingThisPage = true`); err != nil {
		return err
	}
	if err := do(); err != nil {
		return err
	}
	return t.Until(`!window.leavingThisPage && document.readyState === "complete"`)
}

// Until waits for a condition, written in JavaScript, to hold in the page.
func (t *Tab) Until(condition string) error {
	var last error
	for deadline := time.Now().Add(patience); time.Now().Before(deadline); time.Sleep(tick) {
		ctx, cancel := context.WithTimeout(t.ctx, 5*time.Second)
		holds, err := evaluate[bool](ctx, t, "Boolean("+condition+")")
		cancel()
		if err == nil && holds {
			return nil
		}
		last = err // a page being left can't answer; the next one will
		if t.ctx.Err() != nil {
			return t.ctx.Err()
		}
	}
	state, _ := Eval[string](t, `document.readyState + (window.leavingThisPage ? ", the page left" : "")`)
	return errors.Join(fmt.Errorf("waited %s at %s (%s) in vain for %s", patience, t.where(), state, condition), last)
}

// Keys presses keys, to whatever has the keyboard. See package kb for those without a letter.
func (t *Tab) Keys(keys string, options ...chromedp.KeyOption) error {
	return t.do(func(ctx context.Context) error { return t.engine.keys(ctx, keys, options...) })
}

// Choose hands files to a file field, as the system's own dialog would.
func (t *Tab) Choose(selector string, files ...string) error {
	return t.do(func(ctx context.Context) error { return t.engine.choose(ctx, selector, files) })
}

// Paste sends the text to the field that has the keyboard, as the system's clipboard would.
func (t *Tab) Paste(text string) error {
	_, err := Eval[bool](t, `(() => {
		const data = new DataTransfer();
		data.setData("text/plain", `+quote(text)+`);
		const paste = new ClipboardEvent("paste", {bubbles: true, cancelable: true});
		Object.defineProperty(paste, "clipboardData", {value: data}); // Firefox takes none from its maker
		return document.activeElement.dispatchEvent(paste) || true;
	})()`)
	return err
}

// Text returns the words of what the selector finds as a reader sees them, blanks joined; empty if there is none.
func (t *Tab) Text(selector string) (string, error) {
	text, err := Eval[string](t, `[...document.querySelectorAll(`+quote(selector)+`)].map(e => e.innerText).join("\n")`)
	return strings.Join(strings.Fields(text), " "), err
}

// Has reports whether the selector finds anything.
func (t *Tab) Has(selector string) (bool, error) {
	return Eval[bool](t, `document.querySelector(`+quote(selector)+`) !== null`)
}

// Path is where the window is, with its query.
func (t *Tab) Path() (string, error) { return Eval[string](t, `location.pathname + location.search`) }
