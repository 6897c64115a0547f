package e2e

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// recordCommand runs `record` with arguments and returns what it printed and its exit code.
func recordCommand(t *testing.T, args ...string) (out string, code int) {
	t.Helper()
	cmd := exec.Command(binary(t), append([]string{"record"}, args...)...)
	cmd.Env = cleanEnv()
	printed, err := cmd.CombinedOutput()
	if exit, ok := err.(*exec.ExitError); ok {
		return string(printed), exit.ExitCode()
	} else if err != nil {
		t.Fatal(err)
	}
	return string(printed), 0
}

// TestRecordIsChecked holds a demo shop's record, running and stopped, and changes one rate behind the program's back, as
// somebody with the database's own password could.
func TestRecordIsChecked(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "demo")
	p := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	if out, code := recordCommand(t, "check", "--data", data); code != 0 || !strings.Contains(out, "The record is whole: ") ||
		!strings.Contains(out, "are those that were kept") || strings.Contains(out, "not at hand") {
		t.Fatalf("untouched, beside the running shop: exit code %d: %s", code, out)
	}
	seal, code := recordCommand(t, "seal", "--data", data)
	if code != 0 || !strings.HasPrefix(seal, "ledgerwheel/") {
		t.Fatalf("seal: exit code %d: %s", code, seal)
	}
	elsewhere := filepath.Join(t.TempDir(), "elsewhere.seal")
	if err := os.WriteFile(elsewhere, []byte(seal), 0o600); err != nil {
		t.Fatal(err)
	}
	conn := database(t, data)
	if _, err := conn.Exec(t.Context(), `UPDATE journal SET summary = 'nothing happened' WHERE seq = 3`); err == nil {
		t.Error("the database let a journal entry be changed")
	}
	var run int64
	if err := conn.QueryRow(t.Context(), `UPDATE reading SET rate_s_per_day = rate_s_per_day + 2 WHERE run_id = (SELECT min(id) FROM run)
		RETURNING run_id`).Scan(&run); err != nil {
		t.Fatal(err)
	}
	out, code := recordCommand(t, "check", "--data", data, "--seal", elsewhere, "--json")
	if code != 1 {
		t.Errorf("a changed rate, beside the running shop: exit code %d: %s", code, out)
	}
	var finding struct{ Kind, Docket, Sentence string }
	if err := json.Unmarshal([]byte(strings.SplitN(out, "\n", 2)[0]), &finding); err != nil || finding.Kind != "row" || finding.Docket == "" ||
		!strings.Contains(finding.Sentence, "a reading of a run") || !strings.Contains(finding.Sentence, "changed without the program") {
		t.Errorf("finding %+v (%v) in %s", finding, err, out)
	}
	p.stop(t, syscall.SIGTERM)
	if out, code := recordCommand(t, "check", "--data", data); code != 1 || !strings.Contains(out, finding.Docket) {
		t.Errorf("stopped: exit code %d: %s", code, out)
	}
	notChecked(t, data, seal)
}

// notChecked: what can't be checked is told apart from what differs, in one sentence.
func notChecked(t *testing.T, data, seal string) {
	t.Helper()
	write := func(name, text string) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	other := strings.NewReplacer(seal[:strings.IndexByte(seal, '\n')], "ledgerwheel/0000000000000000").Replace(seal)
	for _, tt := range []struct {
		name, says string
		args       []string
	}{
		{"another shop's seal", "does not know", []string{"--data", data, "--seal", write("other.seal", other)}},
		{"no seal", "no seal", []string{"--data", data, "--seal", write("letter.txt", "Dear shop,\n\nthank you.\n")}},
		{"no shop", "no shop is kept", []string{"--data", t.TempDir()}},
		{"no database", "database", []string{"--database", "postgres://nobody@127.0.0.1:1/none?connect_timeout=1"}},
	} {
		out, code := recordCommand(t, append([]string{"check"}, tt.args...)...)
		if code != 2 || !strings.Contains(out, tt.says) || strings.Count(strings.TrimSpace(out), "\n") > 0 {
			t.Errorf("%s: exit code %d: %s", tt.name, code, out)
		}
	}
}
