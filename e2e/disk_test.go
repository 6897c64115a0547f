package e2e

import (
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ledgerwheel/domain/health"
	"ledgerwheel/domain/staff"
)

// TestDiskFull fills the disk under a shop at work: the page stays with what was typed and names the disk, /healthz does,
// nothing is acknowledged; with room again the same form is sent as it stands. Where this system lets nobody mount a disk,
// the database refuses every row with the code that it gives on a full one, so that all but the measuring of the disk is
// tried.
func TestDiskFull(t *testing.T) {
	t.Parallel()
	dir := openFolder(t)
	mounted := false
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=700m,mode=0711", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Logf("no disk of its own, so the database is made to refuse instead: %v: %s", err, out)
	} else {
		mounted = true
		t.Cleanup(func() {
			if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	data := filepath.Join(dir, "demo")
	shop := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	p := signedIn(t, shop, staff.Watchmaker)
	number := ""
	if err := database(t, data).QueryRow(t.Context(), `SELECT number FROM docket WHERE stage = 'service' ORDER BY id LIMIT 1`).Scan(&number); err != nil {
		t.Fatal(err)
	}
	count := func() (n int) {
		t.Helper()
		if err := database(t, data).QueryRow(t.Context(), `SELECT count(*) FROM part_line`).Scan(&n); err != nil {
			t.Fatal(err)
		}
		return n
	}
	before := count()
	p.open("/dockets/" + number + "/parts")
	p.fillAll("description", "Stem, long", "quantity", "1")
	ballast := filepath.Join(dir, "ballast")
	if mounted {
		if got := healthz(t, shop); !strings.Contains(got, "200") || !strings.Contains(got, string(health.LowSpace)) {
			t.Errorf("/healthz on a small disk: %q", got)
		}
		fillDisk(t, ballast)
		awaitHealth(t, shop, "503", string(health.DiskFull))
		p.try(p.tab.Click(byTest("add-part")))
		p.until(`document.querySelector('[data-testid="line-down"]')`)
		p.sees("The disk with the records is full", "what you typed is still here")
		out, err := exec.Command(binary(t), "health", shop.address+"/healthz").CombinedOutput()
		if err == nil || !strings.Contains(string(out), "disk full") {
			t.Errorf("ledgerwheel health: %v: %s", err, out)
		}
	} else {
		refuseRows(t, data)
		p.press("add-part")
		p.sees("The disk is full", "Nothing was saved")
	}
	if n := count(); n != before {
		t.Errorf("%d rows were written on a full disk", n-before)
	}
	if mounted {
		if err := os.Remove(ballast); err != nil {
			t.Fatal(err)
		}
		awaitHealth(t, shop, "200", "ok")
		p.press("send-again")
	} else {
		if _, err := database(t, data).Exec(t.Context(), `DROP FUNCTION no_room CASCADE`); err != nil {
			t.Fatal(err)
		}
		p.open("/dockets/" + number + "/parts") // which the browser fills with what was typed
		p.press("add-part")
	}
	p.until(`document.body.innerText.includes("Stem, long") && !document.querySelector('[data-testid="line-down"]')`)
	for deadline := time.Now().Add(patience); count() != before+1; time.Sleep(100 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("with room again %d rows were written, want 1", count()-before)
		}
	}
	wholeRecord(t, data)
}

// TestDataFolderGone moves the data folder away under a shop at work. PostgreSQL would go on writing into files that nobody
// finds any more; so nothing is taken in until it is back.
func TestDataFolderGone(t *testing.T) {
	t.Parallel()
	dir := openFolder(t)
	data := filepath.Join(dir, "demo")
	shop := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	p := signedIn(t, shop, staff.Owner)
	p.open("/watch-list")
	if err := os.Rename(data, data+"-elsewhere"); err != nil {
		t.Fatal(err)
	}
	awaitHealth(t, shop, "503", string(health.FolderGone))
	p.open("/owner")
	p.sees("The data folder is gone", "Put it back where it was")
	if err := os.Rename(data+"-elsewhere", data); err != nil {
		t.Fatal(err)
	}
	awaitHealth(t, shop, "200", "ok")
}

// healthz is status and body of /healthz.
func healthz(t *testing.T, shop *program) string {
	t.Helper()
	res, err := http.Get(shop.address + "/healthz")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, _ := io.ReadAll(res.Body)
	return res.Status + "\n" + string(body)
}

func awaitHealth(t *testing.T, shop *program, words ...string) {
	t.Helper()
	for deadline := time.Now().Add(patience); ; time.Sleep(100 * time.Millisecond) {
		got := healthz(t, shop)
		missing := false
		for _, w := range words {
			missing = missing || !strings.Contains(got, w)
		}
		if !missing {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("/healthz says %q, want %q\n%s", got, words, shop.logged())
		}
	}
}

// fillDisk writes until nothing more goes in.
func fillDisk(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for block := make([]byte, 1<<20); err == nil; {
		_, err = f.Write(block)
	}
}

// refuseRows has the database give the error of a full disk for every part.
func refuseRows(t *testing.T, data string) {
	t.Helper()
	conn := database(t, data)
	for _, sql := range []string{
		`CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
			RAISE EXCEPTION 'could not extend file "base/5/16384": No space left on device' USING ERRCODE = '53100'; END $$`,
		`CREATE TRIGGER no_room BEFORE INSERT ON part_line FOR EACH ROW EXECUTE FUNCTION no_room()`,
	} {
		if _, err := conn.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
}

// wholeRecord runs the record check beside the running shop.
func wholeRecord(t *testing.T, data string) {
	t.Helper()
	cmd := exec.Command(binary(t), "record", "check", "--data", data)
	cmd.Env = cleanEnv()
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("the record is not whole: %v\n%s", err, out)
	}
}
