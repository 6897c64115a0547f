package main

import (
	"bytes"
	"strings"
	"testing"
)

func TestLicences(t *testing.T) {
	t.Parallel()
	licences := func(args ...string) (code int, stdout, stderr string) {
		var out, complaints bytes.Buffer
		code = run(append([]string{"licences"}, args...), nil, &out, &complaints)
		return code, out.String(), complaints.String()
	}
	code, list, _ := licences()
	for _, want := range []string{"Ledgerwheel", "Go standard library", "github.com/jackc/pgx/v5",
		"BSD-3-Clause, Bitstream-Vera", "OFL-1.1"} {
		if code != 0 || !strings.Contains(list, want) {
			t.Errorf("exit %d: the list lacks %q", code, want)
		}
	}
	if code, text, _ := licences("DejaVu"); code != 0 || !strings.Contains(text, "Bitstream Vera Fonts Copyright") ||
		strings.Contains(text, "SIL OPEN FONT") {
		t.Errorf("exit %d: not the text of DejaVu alone", code)
	}
	if code, all, _ := licences("--full"); code != 0 || len(all) < 100_000 || !strings.Contains(all, "SIL OPEN FONT") {
		t.Errorf("exit %d: %d bytes, want all texts", code, len(all))
	}
	if code, _, says := licences("hairspring"); code != 1 || strings.Count(says, "\n") != 1 {
		t.Errorf("exit %d, %q; want 1 and one line", code, says)
	}
}
