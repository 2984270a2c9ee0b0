package label

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"packwright/prep"
)

// sample is a label with words of an invented floor, and what readers must find.
type sample struct {
	name string
	of   Label
	dpi  int      // 0: at 203 and at 300
	says []string // as "KIND:text", in any order
}

// bag is a bag whose length and width sum up to so many inches.
func bag(inches prep.Length) prep.Bag {
	return prep.Bag{ID: "bag", Width: 12 * prep.Inch, Length: (inches - 12) * prep.Inch, Film: 25}
}

func warning(inches prep.Length) Warning { return Warning{bag(inches), prep.DefaultWarningPolicy} }

var samples = []sample{
	{"item", Item{GTIN: "9520000010010", Name: "Moss Golem figure no. 3", Note: "window box"}, 0, []string{"EAN-13:9520000010010"}},
	{"item-mark", Item{GTIN: "9520000010010", Name: "Moss Golem figure no. 3", Note: "window box", Mark: 19, MarkAs: MarkSquare}, 0,
		[]string{"EAN-13:9520000010010", "DM:" + prep.Mark(19).Code()}},
	{"item-marktext", Item{GTIN: "9520000010010", Name: "Moss Golem figure no. 3", Mark: 4_294_967_295, MarkAs: MarkText}, 0, []string{"EAN-13:9520000010010"}},
	{"item-upc", Item{GTIN: "614141000036", Name: "enamel-and-glass mug set with two long names in it"}, 0, []string{"EAN-13:0614141000036"}},
	{"item-ean8", Item{GTIN: "95200002", Name: "card pack", Mark: 4_000_000_000, MarkAs: MarkSquare}, 0,
		[]string{"EAN-8:95200002", "DM:" + prep.Mark(4_000_000_000).Code()}},
	{"item-own", Item{Code: "PUZ", Name: "Cork Harbour puzzle", Note: "1000 pieces", Mark: 7, MarkAs: MarkSquare}, 0,
		[]string{"CODE-128:PUZ", "DM:" + prep.Mark(7).Code()}},
	{"item-own8", Item{Code: "ABCDEF-8", Name: "Cork Harbour puzzle", Note: "1000 pieces"}, 0, []string{"CODE-128:ABCDEF-8"}},
	{"item-own10", Item{Code: "ABCDEFGH-8", Name: "Cork Harbour puzzle", Note: "1000 pieces"}, 300, []string{"CODE-128:ABCDEFGH-8"}},
	{"keep-sealed", KeepSealed{Mark: 19, Name: "golem no. 3", Run: "R-07"}, 0, []string{"DM:" + prep.Mark(19).Code()}},
	{"keep-sealed-long", KeepSealed{Mark: 4_294_967_295, Name: "tide-lantern playset, open tray", Run: "R-1407"}, 0, []string{"DM:" + prep.Mark(4_294_967_295).Code()}},
	{"keep-sealed-qr", KeepSealed{Mark: 1019, Name: "golem no. 3", Run: "R-07", QR: true}, 0, []string{"QR-Code:" + prep.Mark(1019).Code()}},
	{"keep-sealed-plain", KeepSealed{Name: "enamel-and-glass mug set", Run: "R-09"}, 0, nil},
	{"sold-as-one", SoldAsOne{Pieces: 2, Mark: 48, Name: "mug set", Run: "R-09"}, 0, []string{"DM:" + prep.Mark(48).Code()}},
	{"sold-as-one-plain", SoldAsOne{Name: "seed-paper card pack, two as one"}, 0, nil},
	{"warning-10pt", warning(29), 0, nil},
	{"warning-14pt", warning(39), 0, nil},
	{"warning-18pt", warning(59), 0, nil},
	{"warning-24pt", warning(60), 0, nil},
	{"carton", Carton{SSCC: "095200000000000073", Carton: "C-07", Of: "of 14, load LD-1, 4 March 2031", From: "Lantern Yard", To: "fulfilment centre", Owner: "quill",
		Seal: "000415", Gross: 12136 * prep.Gram}, 0, []string{"CODE-128:00095200000000000073"}},
	{"carton-bare", Carton{SSCC: "095200000000000011", Carton: "C-104711"}, 0, []string{"CODE-128:00095200000000000011"}},
	{"team-lift", TeamLift{"C-07", 23400 * prep.Gram}, 0, nil},
	{"contents", Contents{"C-07", "C-07.7", "counted by tobi, 17:49; 12.136 kg; seal 000415", contentsSample(2)}, 0, []string{"CODE-128:C-07.7"}},
	{"contents-long", Contents{"C-1407", "C-1407.X", "counted by tobi, 17:49; 12.136 kg; seal 000415", contentsSample(11)}, 0, []string{"CODE-128:C-1407.X", "CODE-128:C-1407.X"}},
	{"tote", Own{Name: "T-05", Code: "T-05.I", Word: "tote"}, 0, []string{"CODE-128:T-05.I"}},
	{"tote-small", Own{Name: "T-05", Code: "T-05.I", Word: "tote", Note: "puzzles", Stock: Small}, 0, []string{"CODE-128:T-05.I"}},
	{"place-long", Own{Name: "A-ST-2", Code: "A-ST-2.K", Word: "aside tote", Note: "odd pieces of bench 2"}, 0, []string{"CODE-128:A-ST-2.K"}},
	{"tote-square", Own{Name: "T-05", Code: "T-05.I", Word: "tote", Note: "puzzles", Square: true}, 0, []string{"DM:T-05.I"}},
	{"day", daySample(14, "756:c4805d3411ab1b37487cdca1f346075c0c9adbf2c57148afa4295b3918ecffb6"), 203, []string{"QR-Code:756:c4805d3411ab1b37487cdca1f346075c0c9adbf2c57148afa4295b3918ecffb6"}},
	{"badge", Own{Name: "ife", Code: "B-ife.6", Word: "badge", Note: "packer", Stock: BadgeStock}, 0, []string{"CODE-128:B-ife.6"}},
	{"badge-square", Own{Name: "bartholomew-of-the-dock", Code: "B-bartholomew-of-the-dock.Z", Word: "badge", Stock: BadgeStock, Square: true}, 0, []string{"DM:B-bartholomew-of-the-dock.Z"}},
	{"card", Card{"FINISH-CARTON", "this carton is full; count it", "!FINISH-CARTON.Y"}, 0, []string{"CODE-128:!FINISH-CARTON.Y"}},
	{"card-short", Card{"READY", "the pieces of this run are finished: all, or so many as said", "!READY.4"}, 0, []string{"CODE-128:!READY.4"}},
	{"digit", Number{"7", "digit", "#7.L"}, 0, []string{"CODE-128:#7.L"}},
	{"number", Number{"12", "pieces", "N-12.0"}, 0, []string{"CODE-128:N-12.0"}},
	{"number-long", Number{"999", "pieces", "N-999.A"}, 0, []string{"CODE-128:N-999.A"}},
	{"test-card", Test{"!TEST-aqwzmyAQWZMY-0123456789/."}, 0, []string{"CODE-128:!TEST-aqwzmyAQWZMY-0123456789/."}},
	{"glossary", Back{}, 0, nil},
	{"printer-203", Printer{}, 203, []string{"CODE-128:203DPI", "DM:203DPI"}},
	{"printer-300", Printer{}, 300, []string{"CODE-128:300DPI", "DM:300DPI"}},
}

func contentsSample(n int) (lines []ContentsLine) {
	for i := range n {
		lines = append(lines, ContentsLine{6 + 9*(i%2), []string{"wool otter plush", "Cork Harbour puzzle"}[i%2], fmt.Sprintf("quill; L-%02d", i+1)})
	}
	return lines
}

// dpis gives the resolutions at which a sample is tried.
func (s sample) dpis() []int {
	if s.dpi > 0 {
		return []int{s.dpi}
	}
	return []int{203, 300}
}

func (s sample) pages(t *testing.T, dpi int) []Layout {
	t.Helper()
	pages, err := s.of.Pages(dpi)
	if err != nil {
		t.Fatalf("%s at %d dpi: %v", s.name, dpi, err)
	}
	return pages
}

// picturesTo names a directory for pictures of all samples, to be looked at:
//
//	PACKWRIGHT_PICTURES=/tmp/labels go test ./prep/label -run TestPictures
const picturesTo = "PACKWRIGHT_PICTURES"

func TestPictures(t *testing.T) {
	dir := os.Getenv(picturesTo)
	if dir == "" {
		t.Skipf("set %s=DIR to paint every label and card there", picturesTo)
	}
	for _, s := range samples {
		for _, dpi := range s.dpis() {
			for i, l := range s.pages(t, dpi) {
				b, err := PNG(l)
				if err = cmp.Or(err, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%d-%d.png", s.name, dpi, i+1)), b, 0o644)); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

// daySample is the sheet of a day on which so many cartons left.
func daySample(n int, check string) Day {
	x := Day{Floor: "lantern-yard", Day: "2031-03-04", Closed: "closed 18:04:30 by maren", Check: check,
		Head:  [][2]string{{"head", "frame 756, 768 events"}, {"root", "c4805d3411ab1b37487cdca1f346075c0c9adbf2c57148afa4295b3918ecffb6"}, {"nothing", ""}},
		Lists: []DayList{{Heading: fmt.Sprintf("LD-1 left 17:59:00: %d cartons", n)}, {Heading: "Left open", Rows: [][4]string{{"mismatch", "X-03", "SHORT, C-15"}}}}}
	for i := range n {
		x.Lists[0].Rows = append(x.Lists[0].Rows, [4]string{fmt.Sprintf("C-%02d", i+1), fmt.Sprintf("seal %06d", 401+i), "12 units", "5.530 kg"})
	}
	return x
}
