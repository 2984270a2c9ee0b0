package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"packwright/cmd/packwright/web/webtest"
	"packwright/prep"
	"packwright/workflow"
)

// TestAnsweredWorkIsSentAgain puts an older backup in the place of a hub that is
// lost. The bench had its answers; it says that the hub is an older one, gives its
// work once more, and the floor has each piece once. A verified backup then ends
// what the browser keeps.
func TestAnsweredWorkIsSentAgain(t *testing.T) {
	b := webtest.Open(t)
	hub := webtest.Demo(t, "--until", "14:09")
	tab := bench(t, b, hub, "ST-2", "ife")
	reads(t, tab, workflow.Signed("C-12"), 0)
	reads(t, tab, workflow.Signed("T-29"), 0)
	reads(t, tab, prep.Mark(48).Code(), 0)
	file := filepath.Join(t.TempDir(), "noon.backup")
	program(t, "backup", file, "--url", filepath.Join(hub.Dir, "hub.url"))
	for _, m := range marks(49, 3) {
		reads(t, tab, m, 0)
	}
	if n := placedBy(t, hub)["C-12"]; n != 4 {
		t.Fatalf("%d placements before the loss", n)
	}
	hub.Kill()
	lost := hub.Dir + ".lost"
	if err := os.Rename(hub.Dir, lost); err != nil {
		t.Fatal(err)
	}
	program(t, "restore", file, "--data", hub.Dir, "--accept-loss", "--reason", "disk failed", "--badge", "odile")
	for _, name := range []string{"entry.json", "policy.yaml"} { // they are kept apart from backups
		raw, err := os.ReadFile(filepath.Join(lost, name))
		if err == nil {
			err = os.WriteFile(filepath.Join(hub.Dir, name), raw, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	hub.Again(t)
	tab.Until(t, `document.getElementById("text").textContent.startsWith("The hub goes on from an older copy.")`)
	if got := says(t, tab); got != "kept The hub goes on from an older copy. What was done here since was sent again. Look at what is in hand, and go on." {
		t.Errorf("the bench says %q", got)
	}
	tab.Picture(t, "bench-again")
	once(t, hub)
	tab.Go(t, "/bench")
	ready(t, tab)
	time.Sleep(1100 * time.Millisecond) // a backup tells its second
	if n := keptIn(t, tab); n < 4 {
		t.Errorf("the browser keeps %d pieces of work", n)
	}
	program(t, "backup", filepath.Join(t.TempDir(), "later.backup"), "--url", filepath.Join(hub.Dir, "hub.url"))
	for end := time.Now().Add(time.Minute); keptIn(t, tab) > 0; time.Sleep(200 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("after a verified backup the browser still keeps %d pieces of work", keptIn(t, tab))
		}
	}
	once(t, hub)
}

// once demands four marks in C-12, each placed once.
func once(t *testing.T, hub *webtest.Hub) {
	t.Helper()
	seen := map[string]int{}
	for _, e := range hub.Events(t, "unit.placed") {
		if d := e["data"].(map[string]any); d["carton"] == "C-12" {
			seen[fmt.Sprint(d["marks"])]++
		}
	}
	if len(seen) != 4 {
		t.Errorf("placed in C-12: %v", seen)
	}
	for mark, n := range seen {
		if n != 1 {
			t.Errorf("%s was placed %d times", mark, n)
		}
	}
}

// keptIn counts what the browser keeps of its answered work.
func keptIn(t *testing.T, tab *webtest.Tab) int {
	t.Helper()
	return webtest.Eval[int](t, tab, `new Promise((yes, no) => {
		const ask = indexedDB.open("packwright-kept-ST-2", 1);
		ask.onerror = () => no(ask.error);
		ask.onsuccess = () => {
			const n = ask.result.transaction("answered").objectStore("answered").count();
			n.onsuccess = () => { yes(n.result); ask.result.close(); };
		};
	})`)
}

// program runs the program beside the hub.
func program(t *testing.T, args ...string) {
	t.Helper()
	if out, err := exec.Command(webtest.Program(t), args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %v\n%s", args, err, out)
	}
}

// TestOnlyItsOwnIsSentAgain: no other bench's commands, no count, nobody signed out.
func TestOnlyItsOwnIsSentAgain(t *testing.T) {
	hub := webtest.Demo(t, "--until", "14:09")
	again := func(c *webtest.Client, command string) int {
		t.Helper()
		body, err := json.Marshal(map[string]string{"command": command})
		if err != nil {
			t.Fatal(err)
		}
		return c.Do(t, http.MethodPost, "/bench/again", "application/json", "application/json", string(body)).Status
	}
	own := `{"id":"ST-2/lost/1","type":"place","data":{"carton":"C-12","marks":["` + prep.Mark(48).Code() + `"]}}`
	ife := hub.Client(t, "ST-2", "ife")
	for _, command := range []string{
		`{"id":"ST-3/lost/1","type":"place","data":{"carton":"C-12","marks":["` + prep.Mark(48).Code() + `"]}}`,
		`{"id":"ST-2/lost/1","type":"place","badge":"odile","data":{"carton":"C-12"}}`,
		`{"id":"ST-2/lost/1","type":"accept-count","data":{"carton":"C-12"}}`,
		`{"id":"ST-2/lost/1"`, ``,
	} {
		if got := again(ife, command); got != http.StatusBadRequest {
			t.Errorf("%s is answered %d", command, got)
		}
	}
	if got := again(hub.Client(t, "ST-2", ""), own); got != http.StatusBadRequest {
		t.Errorf("nobody is signed in, and it is answered %d", got)
	}
	before := placedBy(t, hub)["C-12"]
	for range 2 {
		if got := again(ife, own); got != http.StatusOK {
			t.Errorf("its own is answered %d", got)
		}
	}
	if n := placedBy(t, hub)["C-12"] - before; n > 1 {
		t.Errorf("sent twice, kept %d times", n)
	}
}
