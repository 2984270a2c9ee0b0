package workflow

import (
	"strconv"
	"strings"

	json "github.com/goccy/go-json"
	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"packwright/events"
	"packwright/events/proof"
)

// storyKey signs the heads of stories. It is worth nothing: it stands here for all to read.
const storyKey = "PRIVATE+KEY+packwright/lantern-yard+f303e8c0+Aboh/9ZYYba0KHeukPMzYCm8Iajq+qIq2kwg46aMpPyj"

// stood is the head of a story's log after each of its frames.
type stood struct {
	tree proof.Tree
	size []int64
	root []tlog.Hash
}

func (s *stood) add(line []byte) { s.tree.Add(line) }

func (s *stood) end() {
	s.size, s.root = append(s.size, s.tree.Size), append(s.root, s.tree.Root())
}

func (s *stood) at(frame uint64) (int64, tlog.Hash, bool) {
	if frame == 0 || frame > uint64(len(s.size)) {
		return 0, tlog.Hash{}, false
	}
	return s.size[frame-1], s.root[frame-1], true
}

// sign gives the newest head, or that of a frame, to the floor as its clockwork
// does; in a head with one event more than there were, nobody believes.
//
//	17:59:01 sign [FRAME] [more]
func (tl *teller) sign(line string) []string {
	f := strings.Fields(line)
	tl.now = storyTime(tl.t, f[0])
	frame := uint64(len(tl.stood.size))
	more := int64(0)
	for _, word := range f[2:] {
		if n, err := strconv.ParseUint(word, 10, 64); err == nil {
			frame = n
		} else {
			more = 1
		}
	}
	signer, err := note.NewSigner(storyKey)
	if err != nil {
		tl.t.Fatal(err)
	}
	size, root, _ := tl.stood.at(frame)
	head, err := events.SignHead(signer, frame, size+more, root)
	if err != nil {
		tl.t.Fatal(err)
	}
	data, err := json.Marshal(head)
	if err != nil {
		tl.t.Fatal(err)
	}
	tl.n[Board]++
	return tl.give(Command{ID: Board + "/1/" + strconv.FormatUint(tl.n[Board], 10), At: tl.now, Type: "sign-head", Data: data})
}
