package label

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// tool skips a test when a program of the machine is missing; in CI that is a
// failure.
func tool(t *testing.T, names ...string) {
	t.Helper()
	for _, name := range names {
		if _, err := exec.LookPath(name); err == nil {
			continue
		}
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is missing: apt-get install zbar-tools dmtx-utils poppler-utils", name)
		}
		t.Skipf("%s is missing: nothing was read back. apt-get install zbar-tools dmtx-utils poppler-utils", name)
	}
}

// sight is one picture that readers look at, and what they must find in it.
type sight struct {
	file string
	want []string // sorted
}

// TestReaders: real readers find in every label and card what it should say, and
// nothing else, as painted by both painters, and fattened and thinned by half a
// dot on each edge.
func TestReaders(t *testing.T) {
	tool(t, "zbarimg", "dmtxread", "pdftoppm")
	dir := t.TempDir()
	var sights []sight
	for _, s := range samples {
		for _, dpi := range s.dpis() {
			pages := s.pages(t, dpi)
			if got := says(pages); !slices.Equal(got, texts(s.want())) {
				t.Fatalf("%s says %q, want %q", s.name, got, texts(s.want()))
			}
			if testing.Short() && dpi != 203 {
				continue
			}
			sights = append(sights, s.show(t, dir, pages)...)
		}
	}
	found := readAll(t, sights)
	for _, s := range sights {
		if got := found[s.file]; !slices.Equal(got, s.want) {
			t.Errorf("%s reads %q, want %q", filepath.Base(s.file), got, s.want)
		}
	}
	t.Logf("%d pictures read", len(sights))
}

// want is what readers find on all pages of a sample, sorted.
func (s sample) want() []string { return slices.Sorted(slices.Values(s.says)) }

func says(pages []Layout) (all []string) {
	for _, l := range pages {
		for _, say := range l.Says() {
			all = append(all, strings.TrimPrefix(say, "0")) // a UPC-A is read as an EAN-13 that begins with 0
		}
	}
	slices.Sort(all)
	return all
}

func texts(want []string) (out []string) {
	for _, w := range want {
		_, say, _ := strings.Cut(w, ":")
		out = append(out, strings.TrimPrefix(say, "0"))
	}
	slices.Sort(out)
	return out
}

// show paints a sample in all ways. Each page of several carries the same symbols.
func (s sample) show(t *testing.T, dir string, pages []Layout) (out []sight) {
	t.Helper()
	dpi := pages[0].DPI
	name := filepath.Join(dir, fmt.Sprintf("%s-%d", s.name, dpi))
	doc, err := PDF(pages)
	if err != nil {
		t.Fatal(err)
	}
	for i, l := range pages {
		want := s.want()[i*len(s.says)/len(pages) : (i+1)*len(s.says)/len(pages)]
		exact := Bitmap(l)
		painted := []*image.Gray{gray(exact), worn(twice(exact), true), worn(twice(exact), false)}
		once, double := rendered(t, dir, doc, dpi, i+1), rendered(t, dir, doc, 2*dpi, i+1)
		painted = append(painted, once, worn(double, true), worn(double, false))
		for j, how := range []string{"png", "png-fat", "png-thin", "pdf", "pdf-fat", "pdf-thin"} {
			file := fmt.Sprintf("%s-%d-%s.png", name, i+1, how)
			write(t, file, painted[j])
			out = append(out, sight{file, want})
		}
	}
	return out
}

// rendered is one page of a PDF as a printer's renderer without grey would make it.
func rendered(t *testing.T, dir string, doc []byte, dpi, page int) *image.Gray {
	t.Helper()
	out := filepath.Join(dir, "rendered")
	cmd := exec.Command("pdftoppm", "-r", fmt.Sprint(dpi), "-gray", "-aa", "no", "-aaVector", "no", "-png", "-singlefile", "-f", fmt.Sprint(page), "-", out)
	cmd.Stdin = bytes.NewReader(doc)
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm: %v\n%s", err, b)
	}
	f, err := os.Open(out + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return gray(m)
}

func write(t *testing.T, file string, m image.Image) {
	t.Helper()
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

func gray(m image.Image) *image.Gray {
	out := image.NewGray(image.Rectangle{Max: m.Bounds().Size()})
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.Pix[y*out.Stride+x] = color.GrayModel.Convert(m.At(m.Bounds().Min.X+x, m.Bounds().Min.Y+y)).(color.Gray).Y
		}
	}
	return out
}

// twice gives each dot as two by two.
func twice(m *image.Paletted) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, 2*m.Rect.Dx(), 2*m.Rect.Dy()))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.Pix[y*out.Stride+x] = 255 * (1 - m.Pix[y/2*m.Stride+x/2])
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
func readAll(t *testing.T, sights []sight) map[string][]string {
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
func zbar(t *testing.T, sights []sight, found map[string][]string) {
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
