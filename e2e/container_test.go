package e2e

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ledgerwheel/store/keyring"
)

// composeValues reads docker-compose.yml as far as it uses YAML: nested maps, lists of scalars, comments and flow
// lists left as text. Keys are joined by slashes; a list's items come under its key.
func composeValues(t *testing.T, text string) map[string][]string {
	t.Helper()
	type level struct {
		indent int
		key    string
	}
	var path []level
	values := map[string][]string{}
	for n, line := range strings.Split(text, "\n") {
		body := strings.TrimLeft(line, " ")
		if body == "" || strings.HasPrefix(body, "#") {
			continue
		}
		if strings.Contains(line, "\t") {
			t.Fatalf("line %d holds a tab", n+1)
		}
		indent := len(line) - len(body)
		item, isItem := strings.CutPrefix(body, "- ")
		for len(path) > 0 && path[len(path)-1].indent >= indent {
			path = path[:len(path)-1]
		}
		if indent%2 != 0 || len(path)*2 != indent {
			t.Fatalf("line %d is not indented by two more than its parent: %q", n+1, line)
		}
		keys := make([]string, len(path))
		for i, l := range path {
			keys[i] = l.key
		}
		if isItem {
			key := strings.Join(keys, "/")
			values[key] = append(values[key], strings.Trim(item, `"`))
			continue
		}
		key, value, ok := strings.Cut(body, ":")
		if !ok {
			t.Fatalf("line %d is neither key nor item: %q", n+1, line)
		}
		full := strings.Join(append(keys, key), "/")
		if _, twice := values[full]; twice {
			t.Fatalf("line %d names %s a second time", n+1, full)
		}
		values[full] = nil
		if value = strings.TrimSpace(value); value != "" {
			values[full] = []string{strings.Trim(value, `"`)}
		}
		path = append(path, level{indent, key})
	}
	return values
}

func read(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root(t), name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// knownVariables are the environment variables that serve takes, from its own help.
func knownVariables(t *testing.T) []string {
	t.Helper()
	help, err := exec.Command(binary(t), "serve", "--help").Output()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, m := range regexp.MustCompile(`\$(LEDGERWHEEL_\w+)`).FindAllStringSubmatch(string(help), -1) {
		names = append(names, m[1])
	}
	return names
}

// TestCompose checks what a slip in docker-compose.yml would cost: a database open to the network, a setting that the
// program does not know, a start before the database is there.
func TestCompose(t *testing.T) {
	t.Parallel()
	values := composeValues(t, read(t, "docker-compose.yml"))
	program, db := "services/ledgerwheel/", "services/db/"
	for _, port := range values[program+"ports"] {
		if !strings.HasPrefix(port, "127.0.0.1:") || !strings.HasSuffix(port, ":8080") {
			t.Errorf("port %q is not published on 127.0.0.1 alone", port)
		}
	}
	if _, open := values[db+"ports"]; open || len(values[program+"ports"]) != 1 {
		t.Errorf("published: %q, and the database's %q; want one port of the program", values[program+"ports"],
			values[db+"ports"])
	}
	for key, want := range map[string]string{
		program + "build":                            ".",
		program + "depends_on/db/condition":          "service_healthy",
		program + "environment/LEDGERWHEEL_DATABASE": "postgres://ledgerwheel@db:5432/ledgerwheel?sslmode=disable",
		program + "environment/PGPASSWORD":           first(values[db+"environment/POSTGRES_PASSWORD"]),
		db + "environment/POSTGRES_USER":             "ledgerwheel",
		db + "environment/POSTGRES_DB":               "ledgerwheel",
		"networks/records/internal":                  "true",
	} {
		if got := first(values[key]); got != want || got == "" {
			t.Errorf("%s is %q, want %q", key, got, want)
		}
	}
	if !slices.Equal(values[db+"networks"], []string{"records"}) {
		t.Errorf("the database is on networks %q, want the internal one alone", values[db+"networks"])
	}
	if first(values[db+"healthcheck/test"]) == "" {
		t.Error("the database has no health check, so nothing waits for it")
	}
	known := append(knownVariables(t), "PGPASSWORD", keyring.EnvName) // pgx reads the first, as libpq does
	for key := range values {
		if name, ok := strings.CutPrefix(key, program+"environment/"); ok && !slices.Contains(known, name) {
			t.Errorf("the program knows no %s", name)
		}
	}
	for key := range values {
		if name, ok := strings.CutPrefix(key, "volumes/"); ok && !mounted(values, name) {
			t.Errorf("the volume %s is mounted nowhere", name)
		}
	}
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

func mounted(values map[string][]string, volume string) bool {
	for _, service := range []string{"ledgerwheel", "db"} {
		for _, mount := range values["services/"+service+"/volumes"] {
			if strings.HasPrefix(mount, volume+":/") {
				return true
			}
		}
	}
	return false
}

func TestDockerfile(t *testing.T) {
	t.Parallel()
	text := strings.ReplaceAll(read(t, "Dockerfile"), "\\\n", " ")
	var user string
	stages := 0
	known := knownVariables(t)
	for line := range strings.Lines(text) {
		word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch word {
		case "FROM":
			stages++
			user = ""
		case "USER":
			user = strings.TrimSpace(rest)
		case "ENV":
			for _, pair := range strings.Fields(rest) {
				if name, _, _ := strings.Cut(pair, "="); !slices.Contains(known, name) {
					t.Errorf("the program knows no %s", name)
				}
			}
		}
	}
	if stages != 2 || user == "" || user == "root" {
		t.Errorf("%d stages, run by user %q; want two, and not root", stages, user)
	}
	gomod := regexp.MustCompile(`(?m)^go (\d+\.\d+)`).FindStringSubmatch(read(t, "go.mod"))
	if gomod == nil || !strings.Contains(text, "FROM golang:"+gomod[1]+"-") {
		t.Errorf("the image is not built with the Go release of go.mod, %q", gomod)
	}
	for _, part := range []string{`CMD ["ledgerwheel", "health"]`, `CMD ["serve"]`, "CGO_ENABLED=0"} {
		if !strings.Contains(text, part) {
			t.Errorf("the Dockerfile lacks %s", part)
		}
	}
	// The two commands it names are ones that the program has.
	for _, command := range []string{"health", "serve"} {
		if out, err := exec.Command(binary(t), command, "--help").CombinedOutput(); err != nil {
			t.Errorf("ledgerwheel %s: %v: %s", command, err, out)
		}
	}
}
