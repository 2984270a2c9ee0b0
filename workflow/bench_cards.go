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
	return b.cause("One spoiled. It happens. Why?", func(cause string) Said {
		return b.give("spoil", map[string]any{"run": r.Run, "cause": cause, "verdict": events.ToHold}, func(f *Floor) Said {
			return Said{Text: "Noted.", Next: "Put it into " + aside(b.Station) + "."}
		})
	})
}

// reprint cancels a torn label and prints a new one.
func (b *Bench) reprint(f *Floor) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "Call: a supervisor replaces labels.")
	}
	b.want = &want{"Scan or type the torn label, or ENTER for a plain one.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
		ask := map[string]any{"run": r.Run, "why": "torn at the bench"}
		switch {
		case s.Class == ScanMark:
			ask["from"], ask["to"] = s.Mark, s.Mark
		case s.Class == ScanCard && s.Code == "ENTER":
			ask["n"] = 1
		default:
			return Said{}, false
		}
		return b.give("print-again", ask, func(f *Floor) Said {
			return Said{Text: "A new label is printed.", Next: "Destroy the torn one. Scan the new one."}
		}), true
	}}
	return prompt("RE-PRINT.", b.want.text)
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
		return b.labelsLeft(r, 0)
	}
	return b.howMany("How many stay in "+r.Tote+"?", func(n int) Said { return b.labelsLeft(r, n) })
}

// labelsLeft asks for the numbered labels that are left over, when there can be
// some. Nobody is told how many there should be: they are looked for and counted.
func (b *Bench) labelsLeft(r *Run, returned int) Said {
	closes := func(labels int) Said {
		ask := map[string]any{"run": r.Run, "returned": returned, "labels_returned": labels}
		return b.give("close-run", ask, func(f *Floor) Said {
			b.Hand = HandFree
			return Said{Text: r.Run + " is over.", Next: "Clear the bench. Scan the next tote."}
		})
	}
	if r.unbalanced() == 0 {
		return closes(0)
	}
	return b.howMany("How many numbered labels are left over?", closes)
}

// howMany waits for a number and DONE or ENTER; none given is none.
func (b *Bench) howMany(text string, then func(n int) Said) Said {
	w := &want{text: "Digits, then DONE."}
	w.takes = func(b *Bench, f *Floor, s Scan) (Said, bool) {
		switch {
		case s.Class == ScanDigit, s.Class == ScanNumber:
			b.want, b.number = w, b.number+s.Code
			return prompt("So far "+b.number+".", "More digits, or DONE."), true
		case s.Class == ScanCard && (s.Code == "DONE" || s.Code == "ENTER"):
			n, _ := b.said()
			return then(n), true
		}
		return Said{}, false
	}
	b.want, b.number = w, ""
	return prompt(text, w.text)
}

// hold waits for the piece, or the tote, that is set aside.
func (b *Bench) hold(f *Floor) Said {
	b.want = &want{"Scan the piece, or the tote to set aside.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
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
		return b.give("hold", ask, func(f *Floor) Said {
			return Said{Text: "Set aside.", Next: "Put it into " + aside(b.Station) + "."}
		}), true
	}}
	return prompt("HOLD.", b.want.text)
}

func (b *Bench) pause(f *Floor, why string) Said {
	r := f.runAt(b.Station)
	if r == nil {
		return no("No run is open here.", "A carton waits by itself.")
	}
	return b.give("pause-run", map[string]any{"run": r.Run, "reason": why}, func(f *Floor) Said {
		b.Hand = HandFree
		return Said{Text: r.Run + " rests.", Next: "Scan " + r.Tote + " to go on."}
	})
}

// handOver waits for the bench that gets what is in hand.
func (b *Bench) handOver(f *Floor) Said {
	kind, what := "hand-over-carton", b.Carton
	ask := map[string]any{"carton": b.Carton}
	if r := f.runAt(b.Station); b.Hand == HandRun && r != nil {
		kind, what, ask = "hand-over-run", r.Run, map[string]any{"run": r.Run}
	}
	if what == "" {
		return no("Nothing is in hand.", "Scan the carton or the tote first.")
	}
	b.want = &want{"Scan the bench that gets it.", func(b *Bench, f *Floor, s Scan) (Said, bool) {
		if s.Class != ScanStation {
			return Said{}, false
		}
		ask["to"] = s.Code
		return b.give(kind, ask, func(f *Floor) Said {
			b.Hand, b.Carton = HandFree, ""
			return Said{Text: what + " is at " + s.Code + " now.", Next: "Scan the next."}
		}), true
	}}
	return prompt("Hand over "+what+".", b.want.text)
}

func (b *Bench) takeBack(f *Floor) Said {
	return b.give("take-back", map[string]any{}, func(f *Floor) Said {
		if b.Hand == HandCount && f.inHandAt(b.Carton, b.Station) {
			b.Hand = HandCarton
		}
		if b.Hand == HandCarton {
			t := b.tally(f)
			return Said{Text: "Taken back. " + t.Text}
		}
		return Said{Text: "Taken back."}
	})
}

func (b *Bench) signOut(f *Floor) Said {
	return b.give("sign-out", map[string]any{}, func(f *Floor) Said {
		*b = Bench{Station: b.Station, Epoch: b.Epoch, N: b.N, Scale: b.Scale}
		return Said{Text: "Signed out.", Next: "Work in hand stays at this bench."}
	})
}

// help calls the supervisor to what is in hand.
func (b *Bench) help(f *Floor) Said {
	scope := events.Scope{Station: b.Station}
	if f.Cartons[b.Carton] != nil {
		scope.Carton = b.Carton
	}
	ask := map[string]any{"kind": events.Unknown, "scope": scope, "text": "HELP at " + b.Station, "free": true}
	return b.give("raise", ask, func(f *Floor) Said {
		return Said{Outcome: Call, Text: "The supervisor is called.", Next: "Work on something else meanwhile."}
	})
}

// badge signs a badge in, or greets it.
func (b *Bench) badge(f *Floor, s Scan) Said {
	if st := f.Stations[b.Station]; st != nil && st.sessionOf(s.Code) != "" {
		return b.greet(f)
	}
	said := b.give("sign-in", map[string]any{}, b.greet)
	said.Command.Badge = s.Code
	return said
}

// greet says what waits at this bench.
func (b *Bench) greet(f *Floor) Said {
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
