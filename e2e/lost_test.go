package e2e

import (
	"context"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"ledgerwheel/domain/staff"
	"ledgerwheel/e2e/browser"
)

// TestLostDatabase takes the database away under somebody at work, gives it back, and then kills its processes.
func TestLostDatabase(t *testing.T) {
	t.Parallel()
	data := filepath.Join(openFolder(t), "demo")
	shop := launch(t, "demo", "--listen", "127.0.0.1:0", "--data", data)
	p := signedIn(t, shop, staff.Clerk)
	keeper := serverOf(t, data)

	p.open("/intake")
	form := p.within("intake-form")
	form.fillAll("phone", "01632 960 761", "name", "Björn Ásgeirsson", "maker", "Gannet", "complaint",
		"Stopped in the middle of a sentence")
	shut(t, keeper)
	p.try(p.tab.Click(form.scope + byTest("take-in")))
	p.until(`document.querySelector('[data-testid="line-down"]')`) // the page stays, with what was typed
	p.sees("The program can't reach its records just now.", "what you typed is still here")
	p.open("/dockets")
	lostPage(t, p, shop)
	p.open("/sign-in")
	lostPage(t, p, shop)

	reopen(t, keeper)
	p.open("/intake")
	p.sees("Take in a watch") // still signed in
	number := p.takesIn(handedIn{customer: "Björn Ásgeirsson", phone: "01632 960 761", maker: "Gannet", model: "Reach",
		complaint: "Stopped"})
	p.fill("q", "Ásgeirsson")
	p.press("find-button")
	p.arrives("/dockets/" + number) // the only open one of the only customer of that name

	killBackends(t, keeper)
	recovers(t, p, shop, "/dockets/"+number)
}

// serverOf connects to the private server beside the program's database.
func serverOf(t *testing.T, data string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), "postgres:///postgres?user=postgres&port=5432&host="+filepath.Join(data,
		"postgres"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

// shut ends every connection to the program's database and lets none in.
func shut(t *testing.T, keeper *pgx.Conn) {
	t.Helper()
	for _, sql := range []string{
		`ALTER DATABASE ledgerwheel ALLOW_CONNECTIONS false`,
		`SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = 'ledgerwheel'`,
	} {
		if _, err := keeper.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
}

func reopen(t *testing.T, keeper *pgx.Conn) {
	t.Helper()
	if _, err := keeper.Exec(t.Context(), `ALTER DATABASE ledgerwheel ALLOW_CONNECTIONS true`); err != nil {
		t.Fatal(err)
	}
}

// lostPage checks that the page says what happened, that nothing was saved, and under which id the log knows more.
func lostPage(t *testing.T, p *person, shop *program) {
	t.Helper()
	p.sees("The records can't be reached", "Nothing was saved")
	id := p.text(byTest("request-id"))
	if len(id) < 8 {
		p.errorf("the page names no request: %q", id)
	}
	for line := range strings.Lines(shop.logged()) {
		if strings.Contains(line, id) && strings.Contains(line, "request failed") {
			if !strings.Contains(line, "503") {
				t.Errorf("the log line of the request has another status: %s", line)
			}
			return
		}
	}
	t.Errorf("the log has no line with the request's id %s:\n%s", id, shop.logged())
}

// killBackends kills the processes that serve the program, as a machine short of memory would. The server then ends
// all others too and recovers.
func killBackends(t *testing.T, keeper *pgx.Conn) {
	t.Helper()
	rows, err := keeper.Query(t.Context(), `SELECT pid FROM pg_stat_activity WHERE datname = 'ledgerwheel'`)
	if err != nil {
		t.Fatal(err)
	}
	pids, err := pgx.CollectRows(rows, pgx.RowTo[int32])
	if err != nil || len(pids) == 0 {
		t.Fatalf("no process serves the program (%v)", err)
	}
	for _, pid := range pids {
		if err := syscall.Kill(int(pid), syscall.SIGKILL); err != nil {
			t.Fatal(err)
		}
	}
}

// recovers waits until a page is there again. Until then it must say what is the matter.
func recovers(t *testing.T, p *person, shop *program, path string) {
	t.Helper()
	for deadline := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		p.open(path)
		if p.has(byTest("docket-line")) {
			break
		}
		lostPage(t, p, shop)
		if time.Now().After(deadline) {
			p.fatalf("the page did not come back")
		}
	}
	said, err := browser.Eval[string](p.tab, `document.title`)
	p.try(err)
	if !strings.Contains(said, docketNumber.FindString(path)) {
		p.errorf("%s is titled %q", path, said)
	}
}
