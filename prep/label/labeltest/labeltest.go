// Package labeltest lets real readers read painted pages back: zbarimg (bars and
// QR codes) and dmtxread (Data Matrix), on what a PNG holds and on what pdftoppm
// makes of a PDF, as it is and with ink that ran or dried up.
package labeltest

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// Page is one painted page and what readers must find on it.
type Page struct {
	Name   string
	DPI    int
	PNG    []byte   // dot for dot
	PDF    []byte   // nil: only the PNG is read
	Number int      // of the page in the PDF, from 1
	Want   []string // as "KIND:text", in any order: EAN-13, EAN-8, CODE-128, QR-Code, DM
}

// Tools skips a test when a reader is missing on this machine; with CI=true that
// is a failure.
func Tools(t testing.TB) {
	t.Helper()
	for _, name := range []string{"zbarimg", "dmtxread", "pdftoppm"} {
		if _, err := exec.LookPath(name); err == nil {
			continue
		}
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is missing: apt-get install zbar-tools dmtx-utils poppler-utils", name)
		}
		t.Skipf("%s is missing, so nothing was read back: apt-get install zbar-tools dmtx-utils poppler-utils", name)
	}
}

// sight is one picture that readers look at, and what they must find in it.
type sight struct {
	file string
	want []string // sorted
}

// Read fails the test for every page on which readers find anything else than
// what is wanted: as painted, and fattened and thinned by half a dot on each edge.
func Read(t testing.TB, pages []Page) {
	t.Helper()
	dir := t.TempDir()
	var sights []sight
	for _, p := range pages {
		sights = append(sights, p.show(t, dir)...)
	}
	found := readAll(t, sights)
	for _, s := range sights {
		if got := found[s.file]; !slices.Equal(got, s.want) {
			t.Errorf("%s reads %q, want %q", filepath.Base(s.file), got, s.want)
		}
	}
	t.Logf("%d pictures of %d pages read", len(sights), len(pages))
}

// show gives the pictures of a page.
func (p Page) show(t testing.TB, dir string) (out []sight) {
	t.Helper()
	want := slices.Sorted(slices.Values(p.Want))
	exact := grey(t, p.PNG)
	pictures := map[string]*image.Gray{"png": exact, "png-fat": worn(twice(exact), true), "png-thin": worn(twice(exact), false)}
	if p.PDF != nil {
		double := rendered(t, dir, p, 2)
		pictures["pdf"], pictures["pdf-fat"], pictures["pdf-thin"] = rendered(t, dir, p, 1), worn(double, true), worn(double, false)
	}
	for how, m := range pictures {
		file := filepath.Join(dir, fmt.Sprintf("%s-%d-%d-%s.png", p.Name, p.DPI, p.Number, how))
		write(t, file, m)
		out = append(out, sight{file, want})
	}
	return out
}

// rendered is a page of a PDF as a renderer without grey makes it, at a multiple
// of the printer's dots.
func rendered(t testing.TB, dir string, p Page, times int) *image.Gray {
	t.Helper()
	out := filepath.Join(dir, "rendered")
	cmd := exec.Command("pdftoppm", "-r", fmt.Sprint(times*p.DPI), "-gray", "-aa", "no", "-aaVector", "no", "-png", "-singlefile", "-f", fmt.Sprint(p.Number), "-", out)
	cmd.Stdin = bytes.NewReader(p.PDF)
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm: %v\n%s", err, b)
	}
	b, err := os.ReadFile(out + ".png")
	if err != nil {
		t.Fatal(err)
	}
	return grey(t, b)
}

func write(t testing.TB, file string, m image.Image) {
	t.Helper()
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

func grey(t testing.TB, b []byte) *image.Gray {
	t.Helper()
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewGray(m.Bounds())
	draw.Draw(out, out.Rect, m, m.Bounds().Min, draw.Src)
	return out
}

// twice gives each dot as two by two.
func twice(m *image.Gray) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, 2*m.Rect.Dx(), 2*m.Rect.Dy()))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.Pix[y*out.Stride+x] = m.Pix[y/2*m.Stride+x/2]
		}
	}
	return out
}

// worn moves each edge by one dot, outwards for fat ink and inwards for thin.
func worn(m *image.Gray, fat bool) *image.Gray {
	heavier := func(a, b byte) byte { return max(a, b) }
	if fat {
		heavier = func(a, b byte) byte { return min(a, b) }
	}
	w, h := m.Rect.Dx(), m.Rect.Dy()
	across := pass(m.Pix, 1, w, heavier)
	return &image.Gray{Pix: pass(across, w, h*w, heavier), Stride: w, Rect: image.Rect(0, 0, w, h)}
}

// pass gives each dot the heaviest of itself and the two at a distance of step,
// within runs of so many.
func pass(pix []byte, step, run int, heavier func(a, b byte) byte) []byte {
	out := make([]byte, len(pix))
	copy(out, pix)
	for from := 0; from < len(pix); from += run {
		in, to := pix[from:from+run], out[from:from+run]
		for i := step; i < run; i++ {
			to[i] = heavier(to[i], in[i-step])
			to[i-step] = heavier(to[i-step], in[i])
		}
	}
	return out
}

// readAll gives what the readers find in each picture, sorted.
func readAll(t testing.TB, sights []sight) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	for part := range slices.Chunk(sights, 60) {
		zbar(t, part, found)
	}
	var mu sync.Mutex
	var all sync.WaitGroup
	work := make(chan sight)
	for range 2 {
		all.Go(func() {
			for s := range work {
				got := dmtx(s.file)
				mu.Lock()
				found[s.file] = append(found[s.file], got...)
				mu.Unlock()
			}
		})
	}
	for _, s := range sights {
		if slices.ContainsFunc(s.want, func(w string) bool { return strings.HasPrefix(w, "DM:") }) {
			work <- s
		}
	}
	close(work)
	all.Wait()
	for _, list := range found {
		slices.Sort(list)
	}
	return found
}

// zbar reads bars and QR codes of all kinds that it knows.
func zbar(t testing.TB, sights []sight, found map[string][]string) {
	t.Helper()
	args := []string{"-q", "--xml", "--nodbus"}
	for _, s := range sights {
		args = append(args, s.file)
	}
	var out, problems bytes.Buffer
	cmd := exec.Command("zbarimg", args...)
	cmd.Stdout, cmd.Stderr = &out, &problems
	if err := cmd.Run(); err != nil && cmd.ProcessState.ExitCode() != 4 { // 4: a picture without a code
		t.Fatalf("zbarimg: %v\n%s", err, &problems)
	}
	var told struct {
		Sources []struct {
			Href    string `xml:"href,attr"`
			Symbols []struct {
				Type string `xml:"type,attr"`
				Data string `xml:"data"`
			} `xml:"index>symbol"`
		} `xml:"source"`
	}
	if err := xml.Unmarshal(out.Bytes(), &told); err != nil {
		t.Fatalf("zbarimg says %q: %v", out.String(), err)
	}
	for _, s := range told.Sources {
		for _, y := range s.Symbols {
			found[s.Href] = append(found[s.Href], y.Type+":"+y.Data)
		}
	}
}

// dmtx reads a Data Matrix.
func dmtx(file string) []string {
	out, _ := exec.Command("dmtxread", "-N1", "-m", "6000", "-s", "s", file).Output()
	if len(out) == 0 {
		return nil
	}
	return []string{"DM:" + string(out)}
}
