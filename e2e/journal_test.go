package e2e

import (
	"os/exec"
	"strings"
	"syscall"
	"testing"
)

// checkJournals runs the command on a stopped shop and returns what it printed and whether it was content.
func checkJournals(t *testing.T, data string) (string, bool) {
	t.Helper()
	cmd := exec.Command(binary(t), "journal", "check", "--data", data)
	cmd.Env = cleanEnv()
	out, err := cmd.CombinedOutput()
	return string(out), err == nil
}

// TestTamperedJournalIsFound changes one word of the demo's record behind the program's back, as somebody with
// the database's own password could, and has the command find the very entry.
func TestTamperedJournalIsFound(t *testing.T) {
	t.Parallel()
	data := openFolder(t)
	p := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	conn := database(t, data)
	var docketID, seq int64
	var number string
	err := conn.QueryRow(t.Context(), `SELECT j.docket_id, j.seq, d.number FROM journal j JOIN docket d ON d.id = j.docket_id
		WHERE j.seq = 3 ORDER BY j.docket_id LIMIT 1`).Scan(&docketID, &seq, &number)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(t.Context(), `UPDATE journal SET summary = 'nothing happened' WHERE docket_id = $1 AND seq = $2`, docketID, seq); err == nil {
		t.Error("the database let a journal entry be changed")
	}
	if _, err := conn.Exec(t.Context(), `DELETE FROM journal WHERE docket_id = $1 AND seq = $2`, docketID,
		seq); err == nil {
		t.Error("the database let a journal entry be deleted")
	}
	p.stop(t, syscall.SIGTERM)
	if out, ok := checkJournals(t, data); !ok {
		t.Fatalf("untouched journals were found broken: %s", out)
	}

	p = launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	conn = database(t, data)
	for _, sql := range []string{
		`ALTER TABLE journal DISABLE TRIGGER journal_no_change`,
		`UPDATE journal SET summary = 'nothing happened' WHERE docket_id = (SELECT id FROM docket WHERE number = '` + number +
			`') AND seq = 3`,
		`ALTER TABLE journal ENABLE TRIGGER journal_no_change`,
	} {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	p.stop(t, syscall.SIGTERM)
	out, ok := checkJournals(t, data)
	if ok {
		t.Fatalf("a changed journal passed: %s", out)
	}
	for _, part := range []string{number, "entry 3", "1 broken"} {
		if !strings.Contains(out, part) {
			t.Errorf("the answer lacks %q: %s", part, out)
		}
	}
}
