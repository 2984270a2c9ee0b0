package workflow

import (
	"cmp"

	"packwright/events"
	"packwright/prep"
)

// cards are what the action cards do when nothing else is waited for.
var actions map[string]func(*Bench, *Floor) Said

func init() {
	actions = map[string]func(*Bench, *Floor) Said{
		"DONE": (*Bench).done, "READY": (*Bench).allReady, "SPOILED": (*Bench).spoiled, "OUT-OF": (*Bench).outOf,
		"RE-PRINT": (*Bench).reprint, "FINISH-RUN": (*Bench).close, "HOLD": (*Bench).hold, "FINISH-CARTON": (*Bench).finish,
		"ENTER": (*Bench).enter, "TAKE-BACK": (*Bench).takeBack, "HAND-OVER": (*Bench).handOver, "SIGN-OUT": (*Bench).signOut,
		"HELP":     (*Bench).help,
		"PAUSE":    func(b *Bench, f *Floor) Said { return b.pause(f, "at the bench") },
		"POUR":     func(b *Bench, f *Floor) Said { return b.withCarton(f, b.pour) },
		"TAKE-OUT": func(b *Bench, f *Floor) Said { return b.withCarton(f, b.takeOut) },
	}
}

// card takes an action card.
func (b *Bench) card(f *Floor, s Scan) Said {
	if act := actions[s.Code]; act != nil {
		return act(b, f)
	}
	return no("That card answers no question now.", "Scan a tote, a carton or a piece.")
}

func (b *Bench) withCarton(f *Floor, act func(*Floor) Said) Said {
	if b.Carton == "" {
		return no("No carton is in hand.", "Scan a carton first.")
	}
	return act(f)
}

// allReady finishes units of the run here: all that are left, or so many as said.
func (b *Bench) allReady(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "Scan a tote.")
	}
	if !isCount(b.Number) {
		b.Number = ""
		return no("That is a value, not a number of pieces.", "DONE takes a value. Begin it again.")
	}
	ask := map[string]any{"run": r.Run}
	if n, given := b.said(); given {
		ask["q"] = n
	}
	return b.ready(ask)
}

// spoiled waits for the cause: two scans, and no typing.
func (b *Bench) spoiled(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "HOLD, then scan the piece.")
	}
	return b.cause("One spoiled. It happens. Why?", then{Do: "spoils", Run: r.Run})
}

func (b *Bench) spoils(f *Floor, t then, cause string) Said {
	return b.give("spoil", map[string]any{"run": t.Run, "cause": cause, "verdict": events.ToHold}, then{Do: "set-aside", Text: "Noted."})
}

// setAside says where a piece goes that left the work.
func (b *Bench) setAside(f *Floor, t then) Said {
	return Said{Text: t.Text, Next: "Put it into " + aside(b.Station) + "."}
}

// reprint cancels a torn label and prints a new one.
func (b *Bench) reprint(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "Call: a supervisor replaces labels.")
	}
	return b.wants("RE-PRINT.", "Scan or type the torn label, or ENTER for a plain one.", then{Do: "torn", Run: r.Run})
}

func (b *Bench) torn(f *Floor, t then, s Scan) (Said, bool) {
	ask := map[string]any{"run": t.Run, "why": "torn at the bench"}
	switch {
	case s.Class == ScanMark:
		ask["from"], ask["to"] = s.Mark, s.Mark
	case s.Class == ScanCard && s.Code == "ENTER":
		ask["n"] = 1
	default:
		return Said{}, false
	}
	return b.give("print-again", ask, then{Do: "say", Text: "A new label is printed.", To: "Destroy the torn one. Scan the new one."}), true
}

// close ends the run here; what is left in the tote is said first.
func (b *Bench) close(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "Scan a tote.")
	}
	if s, ok := closing(r, f.recipeOf(r)); ok && r.done() > 0 {
		b.Hand = HandRun
		return prompt(s.Text, "Then DONE, then FINISH RUN again.")
	}
	if r.inHand() == 0 {
		return b.labelsLeft(f, then{Run: r.Run}, 0)
	}
	return b.howMany("How many stay in "+r.Tote+"?", then{Do: "stay", Run: r.Run})
}

// labelsLeft asks for the numbered labels that are left over, when there can be
// some. Nobody is told how many there should be: they are looked for and counted.
func (b *Bench) labelsLeft(f *Floor, t then, returned int) Said {
	t = then{Do: "closes", Run: t.Run, N: returned}
	if r := f.Runs[t.Run]; r == nil || r.unbalanced() == 0 {
		return b.closes(f, t, 0)
	}
	return b.howMany("How many numbered labels are left over?", t)
}

func (b *Bench) closes(f *Floor, t then, labels int) Said {
	ask := map[string]any{"run": t.Run, "returned": t.N, "labels_returned": labels}
	return b.give("close-run", ask, then{Do: "put-down", Text: t.Run + " is over.", To: "Clear the bench. Scan the next tote."})
}

// putDown says that the hands are free.
func (b *Bench) putDown(f *Floor, t then) Said {
	b.Hand = HandFree
	return b.tells(f, t)
}

// tells says two lines that were known beforehand.
func (b *Bench) tells(_ *Floor, t then) Said { return Said{Text: t.Text, Next: t.To} }

// howMany waits for a number and DONE or ENTER; none given is none.
func (b *Bench) howMany(text string, next then) Said {
	b.Number = ""
	return b.wants(text, "Digits, then DONE.", then{Do: "number", Next: &next})
}

func (b *Bench) numbered(f *Floor, t then, s Scan) (Said, bool) {
	switch {
	case s.Class == ScanDigit, s.Class == ScanNumber:
		b.Want = &want{t, "Digits, then DONE."}
		if len(b.Number)+len(s.Code) > countMost {
			b.Number = ""
			return no("That number is too long.", "Begin it again."), true
		}
		b.Number += s.Code
		return prompt("So far "+b.Number+".", "More digits, or DONE."), true
	case s.Class == ScanCard && (s.Code == "DONE" || s.Code == "ENTER"):
		n, _ := b.said()
		return numbers[t.Next.Do](b, f, *t.Next, n), true
	}
	return Said{}, false
}

// hold waits for the piece, or the tote, that is set aside.
func (b *Bench) hold(f *Floor) Said {
	return b.wants("HOLD.", "Scan the piece, or the tote to set aside.", then{Do: "hold"})
}

func (b *Bench) holds(f *Floor, _ then, s Scan) (Said, bool) {
	ask := map[string]any{"reason": "set aside at the bench"}
	switch s.Class {
	case ScanMark:
		ask["marks"] = prep.Marks{s.Mark}
	case ScanTote, ScanLot:
		ask["from"] = s.Code
	case ScanItem:
		r := f.runAt(b.Station)
		from := b.Tote
		if r != nil {
			from = cmp.Or(from, r.Tote)
		}
		if from == "" {
			return no("Which tote is it from?", "HOLD, then scan that tote."), true
		}
		ask["from"], ask["q"] = from, 1
	default:
		return Said{}, false
	}
	return b.give("hold", ask, then{Do: "set-aside", Text: "Set aside."}), true
}

func (b *Bench) pause(f *Floor, why string) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "A carton waits by itself.")
	}
	return b.give("pause-run", map[string]any{"run": r.Run, "reason": why}, then{Do: "put-down", Text: r.Run + " rests.", To: "Scan " + r.Tote + " to go on."})
}

// handOver waits for the bench that gets what is in hand.
func (b *Bench) handOver(f *Floor) Said {
	t, what := then{Do: "hand-over", Carton: b.Carton}, b.Carton
	if r := f.runAt(b.Station); b.Hand == HandRun && r != nil {
		t, what = then{Do: "hand-over", Run: r.Run}, r.Run
	}
	if what == "" {
		return no("Nothing is in hand.", "Scan the carton or the tote first.")
	}
	return b.wants("Hand over "+what+".", "Scan the bench that gets it.", t)
}

func (b *Bench) handsOver(f *Floor, t then, s Scan) (Said, bool) {
	if s.Class != ScanStation {
		return Said{}, false
	}
	kind, what, ask := "hand-over-carton", t.Carton, map[string]any{"carton": t.Carton, "to": s.Code}
	if t.Run != "" {
		kind, what, ask = "hand-over-run", t.Run, map[string]any{"run": t.Run, "to": s.Code}
	}
	return b.give(kind, ask, then{Do: "handed-over", Text: what + " is at " + s.Code + " now.", To: "Scan the next."}), true
}

func (b *Bench) handedOver(f *Floor, t then) Said {
	b.Carton = ""
	return b.putDown(f, t)
}

func (b *Bench) takeBack(f *Floor) Said {
	return b.give("take-back", map[string]any{}, then{Do: "taken-back"})
}

func (b *Bench) takenBack(f *Floor, _ then) Said {
	if b.Hand == HandCount && f.inHandAt(b.Carton, b.Station) {
		b.Hand = HandCarton
	}
	if b.Hand == HandCarton {
		return Said{Text: "Taken back. " + b.tally(f).Text}
	}
	return Said{Text: "Taken back."}
}

// SignedOut is what a badge is told that has gone.
const SignedOut = "Signed out."

func (b *Bench) signOut(f *Floor) Said {
	return b.give("sign-out", map[string]any{}, then{Do: "signed-out"})
}

func (b *Bench) signedOut(*Floor, then) Said {
	*b = Bench{Station: b.Station, Epoch: b.Epoch, N: b.N, Scale: b.Scale}
	return Said{Text: SignedOut, Next: "Work in hand stays at this bench."}
}

// help calls the supervisor to what is in hand.
func (b *Bench) help(f *Floor) Said {
	scope := events.Scope{Station: b.Station}
	if f.Cartons[b.Carton] != nil {
		scope.Carton = b.Carton
	}
	ask := map[string]any{"kind": events.Unknown, "scope": scope, "text": "HELP at " + b.Station, "free": true}
	return b.give("raise", ask, then{Do: "called"})
}

func (b *Bench) called(*Floor, then) Said {
	return Said{Outcome: Call, Text: "The supervisor is called.", Next: "Work on something else meanwhile."}
}

// badge signs a badge in, or greets it.
func (b *Bench) badge(f *Floor, s Scan) Said {
	if st := f.Stations[b.Station]; st != nil && st.sessionOf(s.Code) != "" {
		return b.greet(f, then{})
	}
	if b.Proves && s.Code != b.Proved {
		return AskPIN(s.Code)
	}
	said := b.give("sign-in", map[string]any{}, then{Do: "greet"})
	said.Command.Badge = s.Code
	return said
}

// AskPIN asks a badge to prove itself.
func AskPIN(badge string) Said {
	return Said{Text: "Hello. Now your PIN.", Next: "Digits, then ENTER.", Badge: badge}
}

// greet says what waits at this bench.
func (b *Bench) greet(f *Floor, _ then) Said {
	if r := f.runAt(b.Station); r != nil {
		return Said{Text: "Hello. " + r.Run + " is open here.", Next: "Scan " + r.Tote + " to go on."}
	}
	for _, c := range f.cartonsAt(b.Station) {
		return Said{Text: "Hello. " + c + " is at this bench.", Next: "Scan it to go on."}
	}
	return Said{Text: "Hello. Nothing waits here.", Next: "Scan a tote, a carton or a piece."}
}

// here takes a station's code where none is waited for.
func (b *Bench) here(f *Floor, s Scan) Said {
	return no("That is a bench.", "Scan a tote, a carton or a piece.")
}

// matter takes a mismatch's code: what follows is done for it, until it is
// scanned again.
func (b *Bench) matter(f *Floor, s Scan) Said {
	m := f.Matters[s.Code]
	switch {
	case b.Matter == s.Code:
		b.Matter = ""
		return prompt(s.Code+" is put down.", "Scan the next.")
	case m == nil || !m.Resolved.IsZero():
		return no(s.Code+" is not open.", "Look at the board.")
	}
	b.Matter = s.Code
	return prompt("For "+s.Code+" from here on.", "Scan it again when done.")
}
