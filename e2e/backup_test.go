package e2e

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"ledgerwheel/domain/docket"
	"ledgerwheel/domain/photo"
	"ledgerwheel/domain/staff"
	"ledgerwheel/store"
	"ledgerwheel/store/files"
)

// command runs the binary to its end and returns what it printed and its exit code.
func command(t *testing.T, args ...string) (string, int) {
	t.Helper()
	cmd := exec.Command(binary(t), args...)
	cmd.Env = cleanEnv()
	out, err := cmd.CombinedOutput()
	if cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return string(out), cmd.ProcessState.ExitCode()
}

// wants runs the binary and holds its exit code and its words.
func wants(t *testing.T, code int, says string, args ...string) string {
	t.Helper()
	out, got := command(t, args...)
	if got != code || !strings.Contains(out, says) {
		t.Fatalf("%s: exit code %d, want %d; want %q in:\n%s", strings.Join(args, " "), got, code, says, out)
	}
	return out
}

// acknowledged is a photograph that the shop has said is kept.
type acknowledged struct {
	id   int64
	sum  [32]byte
	when time.Time
}

// load files photographs into the shop's open dockets, one after the other in each of a few hands, until it is ended.
type load struct {
	mu    sync.Mutex
	kept  []acknowledged
	fault error
}

func (l *load) run(ctx context.Context, st *store.Store, uploads *files.Folder, by store.Actor, dockets []docket.Number, hand int) {
	for n := 0; ctx.Err() == nil; n++ {
		p := smallPicture(hand, n)
		sum := sha256.Sum256(p.Full)
		p.SHA256 = hex.EncodeToString(sum[:])
		err := uploads.Put(sum, files.Full, p.Full)
		if err == nil {
			err = uploads.Put(sum, files.Thumb, p.Thumb)
		}
		var ids []int64
		if err == nil {
			ids, err = st.AddPhotos(ctx, store.Change{Number: dockets[n%len(dockets)], By: by, At: time.Now()},
				photo.Label{About: photo.OfWork, Caption: "Under load"}, []photo.Picture{p})
		}
		l.mu.Lock()
		if err == nil {
			l.kept = append(l.kept, acknowledged{ids[0], sum, time.Now()})
		} else if ctx.Err() == nil && l.fault == nil {
			l.fault = err
		}
		l.mu.Unlock()
		if err != nil {
			return
		}
	}
}

func (l *load) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.kept)
}

// smallPicture is a picture like no other.
func smallPicture(hand, n int) photo.Picture {
	img := image.NewRGBA(image.Rect(0, 0, 32, 32))
	for i := range 32 * 32 {
		img.Set(i%32, i/32, color.RGBA{uint8(hand * 60), uint8(n), uint8(i + n>>8), 255})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, nil); err != nil {
		panic(err)
	}
	full := append(out.Bytes(), fmt.Sprintf("%d/%d", hand, n)...) // what follows the end of a JPEG is not looked at
	return photo.Picture{Full: full, Thumb: out.Bytes(), WidthPx: 32, HeightPx: 32, ThumbWidthPx: 32, ThumbHeightPx: 32}
}

// underLoad begins the load on a demo shop that is running.
func underLoad(t *testing.T, data string) (l *load, end func()) {
	t.Helper()
	st, err := store.Open(t.Context(), "postgres:///ledgerwheel?user=postgres&port=5432&host="+filepath.Join(data, "postgres"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	who, err := st.CredentialsOf(t.Context(), staff.NormalEmail("bench@ternquay.example"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := st.Pool().Query(t.Context(), `SELECT year, seq FROM docket WHERE stage NOT IN ('handed-over', 'declined', 'withdrawn') ORDER BY id`)
	if err != nil {
		t.Fatal(err)
	}
	var dockets []docket.Number
	for rows.Next() {
		var n docket.Number
		if err := rows.Scan(&n.Year, &n.Seq); err != nil {
			t.Fatal(err)
		}
		dockets = append(dockets, n)
	}
	uploads, err := files.Open(filepath.Join(data, "uploads"))
	if err != nil || rows.Err() != nil || len(dockets) < 6 {
		t.Fatalf("%d open dockets, %v %v", len(dockets), err, rows.Err())
	}
	by := store.Actor{StaffID: who.Member.ID, Name: who.Member.Name, Role: who.Member.Role}
	ctx, cancel := context.WithCancel(t.Context())
	l = &load{}
	var hands sync.WaitGroup
	for hand := range 2 {
		own := dockets[hand*len(dockets)/2 : (hand+1)*len(dockets)/2]
		hands.Go(func() { l.run(ctx, st, uploads, by, own, hand) })
	}
	return l, func() { cancel(); hands.Wait() }
}

// TestRestoreDrill backs a shop up while others write, takes the shop away, restores the backup and holds it against
// what was acknowledged.
func TestRestoreDrill(t *testing.T) {
	t.Parallel()
	dir := openFolder(t)
	data, file := filepath.Join(dir, "demo"), filepath.Join(dir, "shop.backup")
	shop := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	l, end := underLoad(t, data)
	for deadline := time.Now().Add(patience); l.count() < 20 && time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
	}
	began := time.Now()
	out := wants(t, 0, "Not in it: the private keys in "+filepath.Join(data, "keys"), "backup", "create", "--to", file, "--data", data)
	took := time.Since(began)
	written := l.count()
	end()
	if l.fault != nil {
		t.Fatalf("the load ended: %v", l.fault)
	}
	if strings.Contains(out, "Missing") || strings.Contains(out, "Altered") {
		t.Errorf("the backup lacks something:\n%s", out)
	}
	shop.stop(t, syscall.SIGTERM)
	if err := os.RemoveAll(data); err != nil {
		t.Fatal(err)
	}

	wants(t, 0, "Proven.", "backup", "verify", file)
	wants(t, 0, "Next: ledgerwheel demo", "backup", "restore", file, "--data", data)
	out, code := command(t, "record", "check", "--data", data)
	if code != 0 {
		t.Errorf("the restored record is not whole (%d): %s", code, out)
	}
	launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	before, more := l.restored(t, data, began)
	t.Logf("%d writes acknowledged before the backup and %d while it was made (%s): %d and %d of them restored", before,
		written-before, took.Round(time.Millisecond), before, more)
	if before < 20 || written <= before {
		t.Errorf("%d writes before and %d in all: that was no load", before, written)
	}
}

// restored holds what was acknowledged against the restored shop: all of before the backup, and whole pictures of
// whatever else came with it.
func (l *load) restored(t *testing.T, data string, began time.Time) (before, more int) {
	t.Helper()
	conn := database(t, data)
	uploads, err := files.Open(filepath.Join(data, "uploads"))
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range l.kept {
		var sum []byte
		err := conn.QueryRow(t.Context(), `SELECT sha256 FROM photo WHERE id = $1`, a.id).Scan(&sum)
		if err != nil {
			if a.when.Before(began) {
				t.Errorf("photograph %d was acknowledged before the backup and is lost: %v", a.id, err)
			}
			continue
		}
		f, err := uploads.Open([32]byte(sum), files.Full)
		if err != nil {
			t.Fatal(err)
		}
		_, err = jpeg.Decode(f)
		f.Close()
		if err != nil || [32]byte(sum) != a.sum {
			t.Errorf("photograph %d does not open: %v", a.id, err)
		}
		if a.when.Before(began) {
			before++
		} else {
			more++
		}
	}
	return before, more
}

// TestBackupCommands goes through the commands as an owner would, and through what may go wrong.
func TestBackupCommands(t *testing.T) {
	t.Parallel()
	dir := openFolder(t)
	in := func(name string) string { return filepath.Join(dir, name) }
	shop := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", in("demo"))
	// The running folder, copied: it must not start.
	if out, err := exec.Command("cp", "-a", in("demo"), in("copied")).CombinedOutput(); err != nil && !strings.Contains(string(out), "No such file") {
		t.Fatalf("%v %s", err, out)
	}
	wants(t, 1, "was copied from "+in("demo"), "demo", "--listen", "127.0.0.1:0", "--data", in("copied"))

	public := strings.TrimSpace(strings.SplitN(wants(t, 0, "age1", "backup", "key", "--to", in("key.txt")), "\n", 2)[0])
	wants(t, 1, "there already", "backup", "key", "--to", in("key.txt"))
	wants(t, 0, "Proven.", "backup", "create", "--to", in("a.age"), "--data", in("demo"), "--recipient", public, "--verify")
	wants(t, 1, "there already", "backup", "create", "--to", in("a.age"), "--data", in("demo"))
	wants(t, 1, "begins with age1", "backup", "create", "--to", in("b.age"), "--data", in("demo"), "--recipient", "age1x")
	wants(t, 1, "no shop is kept in", "backup", "create", "--to", in("b.age"), "--data", in("none"))
	shop.stop(t, syscall.SIGTERM)
	if err := os.WriteFile(in("phrase"), []byte("four words are enough\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	wants(t, 0, "encrypted: yes", "backup", "create", "--to", in("stopped.age"), "--data", in("demo"), "--passphrase-file", in("phrase"))
	wants(t, 1, "no terminal", "backup", "verify", in("stopped.age"))
	wants(t, 0, "Proven.", "backup", "verify", in("stopped.age"), "--passphrase-file", in("phrase"))
	wants(t, 2, "give the file of its private key", "backup", "verify", in("a.age"))
	wants(t, 2, "is no backup", "backup", "verify", in("phrase"))
	wants(t, 2, "is no backup", "backup", "restore", in("phrase"), "--data", in("back"))
	wants(t, 1, "is not empty", "backup", "restore", in("a.age"), "--identity", in("key.txt"), "--data", in("demo"))
	wants(t, 0, "Next: ledgerwheel demo", "backup", "restore", in("a.age"), "--identity", in("key.txt"), "--data", in("back"))
	for _, name := range []string{"keys", "uploads", "postgres", "demo-shop"} {
		if _, err := os.Stat(filepath.Join(in("back"), name)); err != nil {
			t.Error(err)
		}
	}
	var proven int
	launch(t, "demo", "--listen", "127.0.0.1:0", "--data", in("demo"))
	if err := database(t, in("demo")).QueryRow(t.Context(), `SELECT count(*) FROM backup_run WHERE proven_at IS NOT NULL AND place = $1`,
		in("a.age")).Scan(&proven); err != nil || proven != 1 {
		t.Errorf("the shop knows of %d proven backups (%v)", proven, err)
	}
}
