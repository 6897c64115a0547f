package e2e

import (
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"ledgerwheel/domain/acoustic/simulate"
	"ledgerwheel/domain/recording"
	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// watchSound writes a WAV of a watch whose true figures are known.
func watchSound(t *testing.T) (file string, truth simulate.Watch) {
	t.Helper()
	w, room := simulate.Lever(), simulate.QuietRoom()
	room.SNRdB = 30
	samples, _ := simulate.Sound(w, room, 48000, 20, 1)
	file = filepath.Join(t.TempDir(), "six up.wav")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := recording.WriteWAV(f, 48000, samples); err != nil {
		t.Fatal(err)
	}
	return file, w
}

// inRegulation is a docket of the demo shop in regulation: the oldest, or another one further on. The newest belong to
// the journeys that run beside.
func inRegulation(t *testing.T, p *person, further int) string {
	t.Helper()
	client := p.client()
	for _, number := range slices.Backward(demoDockets(t, client, p.address)) {
		if res, body := fetch(t, client, p.address+"/dockets/"+number+"/regulation"); res.StatusCode == http.StatusOK &&
			strings.Contains(string(body), `data-testid="take-adjustment"`) {
			if further--; further < 0 {
				return number
			}
		}
	}
	t.Fatal("no docket of the demo shop is in regulation")
	return ""
}

// figureOf is the number that a figure card begins with.
func (p *person) figureOf(testID string) float64 {
	p.t.Helper()
	text := strings.Replace(p.text(byTest(testID)+" .figure-value"), "−", "-", 1)
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		p.fatalf("%s reads %q", testID, text)
	}
	return x
}

// TestRecordingSentIn sends a recording in on the page, corrects an instant with the keyboard, keeps it as a reading
// and finds it again from the grid. Then the browser decodes a kind of sound that the server does not know.
func TestRecordingSentIn(t *testing.T) {
	t.Parallel()
	file, truth := watchSound(t)
	bench := signedIn(t, site(t), staff.Watchmaker)
	number := inRegulation(t, bench, 0)
	bench.open("/dockets/" + number + "/listen/upload")
	form := bench.within("sound-form")
	form.fillAll("lift_angle", "52", "position", "6H", "hours", "0")
	form.try(bench.tab.Choose(form.field("sound"), file))
	form.press("send-sound")
	bench.until(`document.querySelector('[data-testid="heard-rate"]')`)
	if got := bench.figureOf("heard-amplitude"); math.Abs(got-truth.AmplitudeDeg) > 2 {
		t.Errorf("amplitude %v°, the watch swings %v°", got, truth.AmplitudeDeg)
	}
	if got := math.Abs(bench.figureOf("heard-beat-error")); math.Abs(got-math.Abs(truth.BeatErrorMs)) > 0.05 {
		t.Errorf("beat error %v ms, the watch's is %v ms", got, truth.BeatErrorMs)
	}

	before := bench.value("tick_unlocking")
	bench.js(`document.querySelector('.instant-mark[aria-label^="Tick, unlocking"]').focus()`)
	bench.try(bench.tab.Keys("\u0302")) // an arrow to the left
	after := bench.value("tick_unlocking")
	was, _ := strconv.ParseFloat(before, 64)
	if now, err := strconv.ParseFloat(after, 64); err != nil || math.Abs(was-now-0.05) > 0.001 {
		t.Errorf("the arrow moved the unlocking from %s to %s ms, want 0.05 ms earlier", before, after)
	}
	bench.press("correct-instants")
	bench.sees("The instants were corrected by")

	bench.tick("keep_sound", "yes")
	bench.press("keep-reading") // its docket's calibre has another lift angle
	bench.refused("right_watch", "Is this the right watch?")
	bench.tick("right_watch", "yes")
	bench.press("keep-reading")
	bench.until(`location.pathname.endsWith("/regulation")`)
	bench.follow(`[data-testid="heard-rate-6H-0"]`)
	bench.sees("A reading that was heard", "Instants corrected by hand")
	// The kept sound is one that the browser can play.
	seconds, err := browser.Eval[float64](bench.tab, `new Promise((done, fail) => {
		const a = document.querySelector("audio"); a.onloadedmetadata = () => done(a.duration); a.onerror = () => fail(new Error("no sound")); a.preload = "metadata"; a.load(); })`)
	if err != nil || math.Abs(seconds-20) > 0.1 {
		t.Errorf("the kept sound lasts %v s: %v", seconds, err)
	}

	bench.open("/listen/upload")
	bench.try(bench.tab.Click("h1")) // a browser makes sound only for somebody who has touched the page
	bench.js(`(async () => {
		const at = new AudioContext();
		await at.resume();
		const out = at.createMediaStreamDestination();
		const silence = at.createConstantSource();
		silence.offset.value = 0;
		silence.connect(out); silence.start();
		const pieces = [];
		const rec = new MediaRecorder(out.stream);
		rec.ondataavailable = (e) => pieces.push(e.data);
		const stopped = new Promise((done) => { rec.onstop = done; });
		rec.start();
		await new Promise((done) => setTimeout(done, 1500));
		rec.stop(); await stopped;
		const files = new DataTransfer();
		files.items.add(new File(pieces, "silence.webm", { type: rec.mimeType }));
		const input = document.querySelector('input[name="sound"]');
		input.files = files.files;
		input.dispatchEvent(new Event("change", { bubbles: true }));
	})()`)
	bench.until(`document.querySelector("[data-sound-status]").textContent.includes("Decoded by the browser")`)
	bench.press("send-sound")
	bench.refused("sound", "No watch was heard")
}

// TestCodedRecordingSentIn sends in what telephones record, coded by ffmpeg here and decoded by the browser: rate and
// beats come out true, and the page says what such a format leaves out.
func TestCodedRecordingSentIn(t *testing.T) {
	t.Parallel()
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Fatal("ffmpeg makes the recordings: install it, or let verify do so")
	}
	file, truth := watchSound(t)
	bench := signedIn(t, site(t), staff.Watchmaker)
	for _, kind := range []struct{ name, codec, rate string }{{"six up.m4a", "aac", "128k"}, {"six up.ogg", "libopus", "96k"},
		{"six up.mp3", "libmp3lame", "192k"}} {
		coded := filepath.Join(t.TempDir(), kind.name)
		// A tag in front, as telephones and programs write it.
		if out, err := exec.Command(ffmpeg, "-v", "error", "-i", file, "-metadata", "title=six up", "-c:a", kind.codec, "-b:a", kind.rate,
			coded).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", kind.name, err, out)
		}
		bench.open("/listen/upload")
		form := bench.within("sound-form")
		form.try(bench.tab.Choose(form.field("sound"), coded))
		bench.until(`/Decoded by the browser|can't decode/.test(document.querySelector("[data-sound-status]").textContent)`)
		if said := bench.text("[data-sound-status]"); strings.Contains(said, "can't decode") {
			t.Logf("%s: this browser has no decoder of it", kind.name)
			continue
		}
		form.press("send-sound")
		bench.until(`document.querySelector('[data-testid="heard-rate"]')`)
		// The page gives whole s/d, since a recorder that is not in the list may be off by 5; the balance of 20 s of a simulated
		// watch wanders by some tenths.
		if got := bench.figureOf("heard-rate"); math.Abs(got-truth.RateSPerDay) > 1.1 {
			t.Errorf("%s: rate %v s/d, the watch's is %v", kind.name, got, truth.RateSPerDay)
		}
		if got := bench.figureOf("heard-beats"); got != truth.BeatsPerHour {
			t.Errorf("%s: %v beats an hour, the watch beats %v", kind.name, got, truth.BeatsPerHour)
		}
		bench.within("heard-notes").sees("leaves out what people don't hear")
		// The amplitude is given for the assumed lift angle, or withheld with the reason.
		if bench.text(`[data-testid="heard-amplitude"]`) == "–" {
			bench.within("heard-notes").sees("no amplitude")
		} else {
			bench.sees("an assumed lift angle of 52°")
		}
	}
}
