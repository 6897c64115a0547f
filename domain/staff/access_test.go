package staff_test

import (
	"testing"
	"time"

	"ledgerwheel/domain/staff"
)

// User agents as the browsers send them today (from memory).
func TestDeviceWords(t *testing.T) {
	t.Parallel()
	for said, want := range map[string]string{
		"Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:140.0) Gecko/20100101 Firefox/140.0":                                                        "Firefox on Windows",
		"Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0":           "Edge on Windows",
		"Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Safari/537.36":                                   "Chrome on Linux",
		"Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Safari/605.1.15":                   "Safari on a Mac",
		"Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Mobile/15E148 Safari/604.1": "Safari on an iPhone",
		"Mozilla/5.0 (Linux; Android 15; Pixel 9) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Mobile Safari/537.36":                   "Chrome on Android",
		"Mozilla/5.0 (iPad; CPU OS 17_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) CriOS/140.0.0.0 Mobile/15E148 Safari/604.1":       "Chrome on an iPad",
		"curl/8.5.0": "an unknown device", "": "an unknown device", "Something (Windows NT 10.0)": "a browser on Windows",
	} {
		if got := staff.DeviceWords(said); got != want {
			t.Errorf("%q: got %q, want %q", said, got, want)
		}
	}
}

func TestEveryAccessHasWords(t *testing.T) {
	t.Parallel()
	refused := 0
	for _, a := range staff.Accesses() {
		if a.Words() == "" {
			t.Errorf("%s has no words", a)
		}
		if a.Refused() {
			refused++
		}
	}
	if len(staff.Accesses()) < 17 || refused != 4 {
		t.Errorf("%d kinds, %d refused", len(staff.Accesses()), refused)
	}
}

func TestIdle(t *testing.T) {
	t.Parallel()
	if staff.Idle(59*time.Minute, 60) || !staff.Idle(time.Hour, 60) {
		t.Error("an hour is not an hour")
	}
	for minutes, good := range map[int]bool{0: false, 4: false, 5: true, 720: true, 840: true, 841: false} {
		if (staff.IdleProblem(minutes) == "") != good {
			t.Errorf("%d minutes: %q", minutes, staff.IdleProblem(minutes))
		}
	}
}
