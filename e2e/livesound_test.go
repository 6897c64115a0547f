package e2e

import (
	"encoding/base64"
	endian "encoding/binary"
	"math"
	"os"
	"strconv"
	"testing"

	"ledgerwheel/domain/acoustic"
	"ledgerwheel/domain/recording"
	"ledgerwheel/e2e/browser"
)

// keepsWhatIsSent has a page remember each block of sound that it sends, its number and samples.
const keepsWhatIsSent = `window.sent = []; window.WebSocket = class extends WebSocket {
	send(data) { if (typeof data !== "string") window.sent.push(new Uint8Array(data.slice(0))); super.send(data); } };`

// sentSound is all that a page sent, in order, as base64; of sound that the system left out what came before is dropped.
const sentSound = `(() => { let text = "", next = -1;
	for (const b of window.sent) {
		const first = Number(new DataView(b.buffer).getBigUint64(0, true));
		if (first !== next) text = "";
		next = first + (b.length - 8) / 4;
		for (let i = 8; i < b.length; i += 4096) text += String.fromCharCode(...b.subarray(i, Math.min(b.length, i + 4096)));
	}
	return btoa(text); })()`

// TestLiveSoundIsTheFile holds what reaches the listener over the line against the file that the microphone plays: sample
// by sample, and by its figures.
func TestLiveSoundIsTheFile(t *testing.T) {
	shop := otherSite(t)
	wav, _ := ticking(t)
	p := listener(t, shop, wav)
	file := samplesOf(t, wav)
	p.try(p.tab.BeforeEachPage(keepsWhatIsSent))

	const seconds, fileHz = 20, 44100
	var live, same []float32
	// The sound system of a loaded machine drops a buffer now and then; where it does so without saying so, all that follows
	// is out of step, and the twenty seconds are taken again.
	for try := 1; ; try++ {
		live = p.hearsFor(seconds)
		from := alignedAt(t, live, file)
		same = file[from : from+len(live)]
		off := 0
		for i, x := range live {
			if math.Abs(float64(x-same[i])) > 1.01/32767 { // a step of 16 bits: browsers divide by 32767 or 32768
				off++
			}
		}
		t.Logf("%d of %d samples are not the file's", off, len(live))
		if off*50 <= len(live) {
			break
		}
		if try == 3 {
			t.Errorf("%d of %d samples are not the file's, at the third try", off, len(live))
			break
		}
	}
	got, want := heardOf(t, live, fileHz), heardOf(t, same, fileHz)
	t.Logf("as sent %v, %v, %v; the file %v, %v, %v", got.Rate, got.Amplitude, got.BeatError, want.Rate, want.Amplitude, want.BeatError)
	// The last step of 16 bits moves an onset by less than it is uncertain by: half of what is stated.
	within(t, "rate", got.Rate.Value, want.Rate.Value, want.RateFitStdSPerDay)
	within(t, "amplitude", got.Amplitude.Value, want.Amplitude.Value, want.Amplitude.Expanded()/2)
	within(t, "beat error", math.Abs(got.BeatError.Value), math.Abs(want.BeatError.Value), want.BeatError.Expanded()/2)

	const otherHz = 48000
	p.try(p.tab.BeforeEachPage(`window.AudioContext = class extends AudioContext { constructor(o) { super({ ...o, sampleRate: 48000 }); } };`))
	resampled := heardOf(t, p.hearsFor(seconds), otherHz)
	t.Logf("resampled once %v, %v, %v", resampled.Rate, resampled.Amplitude, resampled.BeatError)
	// Other seconds of the same watch: to four standard uncertainties of both, so that a false alarm is rarer than one in
	// ten thousand.
	within(t, "rate, resampled", resampled.Rate.Value, want.Rate.Value, 4*math.Hypot(resampled.RateFitStdSPerDay, want.RateFitStdSPerDay))
	within(t, "amplitude, resampled", resampled.Amplitude.Value, want.Amplitude.Value, 2*math.Hypot(resampled.Amplitude.Expanded(),
		want.Amplitude.Expanded()))
	within(t, "beat error, resampled", math.Abs(resampled.BeatError.Value), math.Abs(want.BeatError.Value),
		2*math.Hypot(resampled.BeatError.Expanded(), want.BeatError.Expanded()))
}

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol {
		t.Errorf("%s %v, want %v ± %v", what, got, want, tol)
	}
}

// hearsFor listens for some seconds at the bench alone and returns the samples that were sent.
func (p *person) hearsFor(seconds int) []float32 {
	p.t.Helper()
	p.open("/listen")
	p.js(`document.querySelector("[data-setup]").open = true`)
	p.within("listen-settings").fillAll("settle", "0", "recorder", "0")
	p.try(p.tab.Click(byTest("listen-start")))
	p.until(`parseFloat(document.querySelector('[data-testid="listen-say"]').textContent.match(/(\d+) s/)?.[1]) >= ` + strconv.Itoa(seconds))
	p.try(p.tab.Click(byTest("listen-stop")))
	text, err := browser.Eval[string](p.tab, sentSound)
	p.try(err)
	data, err := base64.StdEncoding.DecodeString(text)
	p.try(err)
	samples := make([]float32, len(data)/4)
	for i := range samples {
		samples[i] = math.Float32frombits(endian.LittleEndian.Uint32(data[4*i:]))
	}
	const silence = 8192 // the microphone begins with some hundredths of a second of it
	return samples[silence:]
}

func samplesOf(t *testing.T, wav string) []float32 {
	t.Helper()
	f, err := os.Open(wav)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := recording.Open(f)
	if err != nil {
		t.Fatal(err)
	}
	var all []float32
	channels := [][]float32{make([]float32, 1<<16)}
	for {
		n, err := r.Read(channels)
		all = append(all, channels[0][:n]...)
		if err != nil {
			return all
		}
	}
}

// alignedAt finds where in the file a piece of it begins, by its loudest sample and those about it.
func alignedAt(t *testing.T, piece, file []float32) int {
	t.Helper()
	const about = 256
	loud := about
	for i := about; i < min(len(piece)-about, 44100); i++ {
		if math.Abs(float64(piece[i])) > math.Abs(float64(piece[loud])) {
			loud = i
		}
	}
	for at := loud; at+len(piece)-loud < len(file); at++ {
		matches := true
		for k := -about; k < about && matches; k++ {
			matches = math.Abs(float64(file[at+k]-piece[loud+k])) <= 1.01/32767
		}
		if matches {
			return at - loud
		}
	}
	t.Fatal("what was sent is nowhere in the file")
	return 0
}

func heardOf(t *testing.T, sound []float32, rateHz float64) acoustic.Result {
	t.Helper()
	l, err := acoustic.NewListener(rateHz, acoustic.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	l.Write(sound)
	r, err := l.Result()
	if err != nil || r.Amplitude == nil {
		t.Fatalf("no watch or no amplitude: %v", err)
	}
	return r
}
