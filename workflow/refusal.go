package workflow

import (
	"fmt"
	"slices"
)

// Code names a refusal for ever.
type Code string

// Refusal is what a person sees when a gate is shut: what, then what to do.
type Refusal struct {
	Code Code   `json:"code"`
	Text string `json:"text"` // what: at most 12 words
	Next string `json:"next"` // what to do: at most 12 words

	outcome Outcome // "" is no; already when it was so before
}

// Error gives both lines; a refusal travels as an error through callers.
func (r *Refusal) Error() string { return string(r.Code) + " " + r.Text + " " + r.Next }

// refuse fills the texts of a code. Arguments go to the first line, then to the second.
func refuse(code Code, args ...any) *Refusal {
	t, ok := texts[code]
	if !ok {
		panic("no text for refusal " + code)
	}
	n := verbs(t.what)
	if len(args) != n+verbs(t.next) {
		panic(fmt.Sprintf("refusal %s wants %d words, was given %d", code, n+verbs(t.next), len(args)))
	}
	return &Refusal{Code: code, Text: fmt.Sprintf(t.what, args[:n]...), Next: fmt.Sprintf(t.next, args[n:]...)}
}

func verbs(s string) (n int) {
	for i := 0; i+1 < len(s); i++ {
		if s[i] == '%' {
			n++
		}
	}
	return n
}

// Text is one refusal as it stands in the table: %s and %d are filled in.
type Text struct {
	Code Code   `json:"code"`
	What string `json:"what"`
	Next string `json:"next"`
}

// Texts lists every refusal there is, sorted by code.
func Texts() []Text {
	out := make([]Text, 0, len(texts))
	for c, t := range texts {
		out = append(out, Text{c, t.what, t.next})
	}
	slices.SortFunc(out, func(a, b Text) int {
		if a.Code < b.Code {
			return -1
		}
		return 1
	})
	return out
}

// texts is the whole of what the floor ever says no with.
// Numbers come first; benches are named, people are not.
var texts = map[Code]struct{ what, next string }{
	"E-INT-01": {"Lot %s is not announced.", "Set aside and call the supervisor."},
	"E-INT-02": {"Tote %s still holds %d of another lot or stage.", "Use an empty tote."},
	"E-INT-03": {"Lot %s is known already.", "Take the next number."},
	"E-INT-04": {"Lot %s is closed.", "A supervisor corrects its receipt."},
	"E-INT-05": {"A quantity of %d is not possible here.", "Count again."},
	"E-INT-06": {"Item %s is not in the catalogue.", "Register it first."},
	"E-TRI-01": {"You gave verdicts for %d; the tote has %d.", "Count again."},
	"E-TRI-02": {"Rule %s: this item must be held.", "It cannot go to prep."},
	"E-TRI-03": {"The rulebook cannot decide: %s.", "Hold it and ask the supervisor."},
	"E-TRI-04": {"Rule %s: not for prep.", "Divert it, or hold it and ask."},
	"E-PRE-01": {"This tote is not triaged yet.", "Triage first."},
	"E-PRE-02": {"Step %s not confirmed.", "Confirm or mark SPOILED."},
	"E-PRE-03": {"Label says %s, box in this run is %s.", "Stop. Do not stick it."},
	"E-PRE-04": {"Bench not clear after the run before.", "Call the supervisor."},
	"E-PRE-05": {"Lot %s is blocked.", "Fetch another roll or pack and scan it."},
	"E-PRE-06": {"You are not cleared for %q yet.", "Ask a lead to stand by and badge."},
	"E-PRE-07": {"%d labels printed, %d accounted for.", "Find one before the next run."},
	"E-PRE-08": {"Run %s is not open at this bench.", "Scan its tote to open one."},
	"E-PRE-09": {"Run %s is still open here.", "Close it first."},
	"E-PRE-10": {"Label %s is not live in this run.", "Scan first and last label."},
	"E-PRE-11": {"Pieces do not balance: %d in, %d accounted for.", "Look for the rest, then close."},
	"E-PRE-12": {"No %s drawn for this run.", "Scan the roll or pack you use."},
	"E-PRE-13": {"%s must rest %s more.", "Wait, then go on."},
	"E-PRE-14": {"Warm air and remover never meet in one run.", "Put one away. Call if unsure."},
	"E-PRE-15": {"Rules changed; this run stops.", "Close it and open a new one."},
	"E-PRE-16": {"%s names something here already.", "Take the next number."},
	"E-PRE-17": {"%d labels printed for %d pieces.", "Print the missing labels first."},
	"E-PRE-18": {"Which run prepped this piece of %s?", "Name the run."},
	"E-PRE-20": {"The badge at %s is not cleared for %q.", "Hand it to another, or a lead stands by."},
	"E-LBL-01": {"Label %s is still in force.", "Cancel it first, then mark the box anew."},
	"E-LBL-02": {"Label %s was replaced by %s.", "Look which box this is."},
	"E-PRE-19": {"Label %s was printed before.", "Take a fresh roll."},
	"E-CAR-01": {"Not for %s.", "It belongs in %s."},
	"E-CAR-02": {"No more of these in %s.", "Leave it in the tote."},
	"E-CAR-03": {"%s is open at %s.", "Ask there to hand over, or take another."},
	"E-CAR-04": {"Already in %s.", "Nothing changed."},
	"E-CAR-05": {"Not prepped: %s.", "Put it in the tote for a bench."},
	"E-CAR-06": {"Unknown code.", "Put the piece in the aside tote."},
	"E-CAR-07": {"Label cancelled at %s%s.", "Remove it."},
	"E-CAR-08": {"Different owner.", "Two owners never share a carton here."},
	"E-CAR-09": {"Best-before leaves %d days; this shipment needs %d.", "Hold it."},
	"E-CAR-10": {"%s is not open.", "Scan an open carton."},
	"E-CAR-11": {"Not on the plan of any open carton.", "Put it in the aside tote."},
	"E-CAR-12": {"Not enough of these in %s.", "Scan the tote it came from."},
	"E-CAR-13": {"%s is not empty.", "Take the pieces out first."},
	"E-CAR-14": {"Another best-before date is in %s.", "One date for each line here."},
	"E-CAR-15": {"Serial of the maker not scanned.", "Scan the code on the piece."},
	"E-CAR-16": {"More than one tote or lot holds these.", "Scan the tote it came from."},
	"E-CAR-17": {"Several lots of these in %s.", "Scan the tote it goes back to."},
	"E-CAR-18": {"Not so many of these in %s.", "Count again, or scan the right carton."},
	"E-CAR-19": {"%s is empty.", "Place pieces first, or void it."},
	"E-CNT-01": {"Your count and the scans disagree.", "Someone else counts now."},
	"E-CNT-02": {"You may not count this one.", "A second person must count this carton."},
	"E-CNT-03": {"Weight does not fit.", "Take hands off, weigh again."},
	"E-CNT-04": {"Scale last checked %s.", "Check with the reference weight first."},
	"E-CNT-05": {"Plan changed at %s.", "Adjust first, then count."},
	"E-CNT-06": {"Counting has not begun.", "Scan FINISH CARTON first."},
	"E-CNT-07": {"No count is in yet.", "Count the carton first."},
	"E-CNT-08": {"Not weighed since it was closed.", "Weigh the carton."},
	"E-CNT-09": {"Scans and plan do not agree.", "Look around, then call."},
	"E-CNT-10": {"This scale reads wrong.", "Do not use it. Call."},
	"E-CNT-11": {"Already counted.", "Nothing changed."},
	"E-SEA-01": {"Not counted yet.", "Do not tape."},
	"E-SEA-02": {"Seal %s was used on %s.", "Take the next one."},
	"E-SEA-03": {"%s is over this destination's limit.", "Split the carton."},
	"E-SEA-04": {"Open question on this carton (%s).", "Supervisor has it."},
	"E-SEA-05": {"Only a supervisor may open a sealed carton.", "Call."},
	"E-SEA-06": {"Carton label not printed.", "Print it, stick it, then seal."},
	"E-SEA-07": {"%s has left or is not sealed.", "Look at the board."},
	"E-SEA-08": {"%s is %s already.", "Nothing changed."},
	"E-SEA-09": {"Carton number %s was used on %s.", "Print a new carton label."},
	"E-SEA-10": {"Heavy: %s.", "Print and stick the team-lift label, then seal."},
	"E-DSP-01": {"Seal on the box is %s, record says %s.", "Put it aside."},
	"E-DSP-02": {"%s is not sealed.", "It cannot leave."},
	"E-DSP-03": {"Load %s is not open.", "Open a load first."},
	"E-DSP-04": {"Load %s is known already.", "Take the next number."},
	"E-DSP-05": {"%s is not on an open load.", "Look at the board."},
	"E-OUT-01": {"It is in %s.", "Take it out first: carton, TAKE OUT, unit."},
	"E-OUT-02": {"Over your limit for this.", "Ask a supervisor."},
	"E-OUT-03": {"Over the supervisor's limit for this.", "Ask the owner."},
	"E-OUT-04": {"Scan its tote first.", "Is the piece really here?"},
	"E-OUT-05": {"More than one kind lies in %s.", "Say the lot and stage, or scan labels."},
	"E-OUT-06": {"Pieces in %s are marked.", "Scan the label of each."},
	"E-SES-01": {"Nobody is signed in here.", "Scan your badge."},
	"E-SES-02": {"This badge is active at %s.", "Sign out there, or call."},
	"E-SES-03": {"Badge %s is not known or retired.", "Call the supervisor."},
	"E-SES-04": {"%s has not joined this floor.", "A supervisor joins it at the board."},
	"E-SES-05": {"Another badge is signed in at this bench.", "It signs out first."},
	"E-SES-06": {"The badge you help is not signed in here.", "It signs in first."},
	"E-SES-07": {"%s names something else here.", "Choose another name."},
	"E-SES-08": {"%s is silent for %s with work open.", "Look there; hand its work over."},
	"E-SES-09": {"Nobody who could take it is signed in at %s.", "Sign in there first."},
	"E-SYS-01": {"The hub is busy or away.", "Kept on this bench. Sealing must wait."},
	"E-SYS-02": {"Someone changed this a second before you.", "Look again."},
	"E-SYS-03": {"Disk nearly full.", "No new runs; finish and call."},
	"E-SYS-04": {"This bench sent two things under one number.", "Call the supervisor."},
	"E-SYS-05": {"The hub holds less, or other, than this bench was told.", "Stop, call."},
	"E-SYS-06": {"The hub could not decide this.", "Set it aside and call."},
	"E-SYS-07": {"%s is not known here.", "Scan it again, or call."},
	"E-SYS-08": {"%s is too large for one step.", "Split it into smaller parts."},
	"E-AUT-01": {"Your badge may not do this.", "Ask a supervisor."},
	"E-AUT-02": {"No one may override this.", "Stop. It cannot be allowed here."},
	"E-AUT-03": {"A second person must agree.", "Ask another supervisor or the owner."},
	"E-AUT-04": {"A fact told later needs its open question.", "Name it, or ask a supervisor."},
	"E-AUT-05": {"A reason is missing.", "Say why, in a few words."},
	"E-BND-01": {"Set not complete: %s.", "Find it or hold all parts."},
	"E-BND-02": {"%s cannot be made from this tote.", "Take the tote of its parts."},
	"E-HLD-01": {"Held for safety.", "Only a licensed person may release it."},
	"E-HLD-02": {"%s is not on hold.", "Look where it lies."},
	"E-HLD-03": {"These are on hold.", "Release them first."},
	"E-HLD-04": {"More than one hold, or fewer pieces, in %s.", "Say the number of the hold."},
	"E-PLN-01": {"Plan %s is not in force.", "Release it first."},
	"E-PLN-02": {"%s is sealed; its lines are frozen.", "Open it first."},
	"E-PLN-03": {"This would leave %d of %s.", "Change it by less."},
	"E-PLN-04": {"Not yours to approve.", "Its owner or client must."},
	"E-PLN-05": {"Already answered at %s.", "Nothing changed."},
	"E-PLN-06": {"Plan %s is known already.", "Propose a change of it."},
	"E-PLN-07": {"%s has %s on two lines.", "Write one line for each item."},
	"E-PLN-08": {"%s is taken or of another plan.", "Take the next carton number."},
	"E-PLN-09": {"Whose is %s in %s?", "Say the owner on its line."},
	"E-PLN-10": {"Two owners in %s.", "Give each owner a carton."},
	"E-MIS-01": {"Already being handled since %s.", "Ask there, or take another."},
	"E-MIS-02": {"Not a lawful way out of %s.", "Choose one of the options."},
	"E-MIS-03": {"No second count since it was fixed.", "Another person counts now."},
	"E-MIS-05": {"The plan was not amended since.", "Propose the change; its owner answers."},
	"E-MIS-06": {"No leave was given for it since.", "Ask for an override first."},
	"E-MIS-04": {"%s is not open.", "Look at the board."},
	"E-CAT-01": {"Item %s is in the catalogue already.", "Revise its entry instead."},
	"E-CAT-02": {"Code %s names item %s already.", "Read the code on the box again."},
	"E-CAT-03": {"Rulebook %d does not come next.", "Number it %d."},
	"E-CAT-04": {"Badge %s was enrolled before.", "Choose another."},
	"E-SUP-01": {"%s was not received here.", "Receive it first, or fetch another."},
	"E-SUP-02": {"%s is a lot of %s.", "Fetch the right roll or pack."},
	"E-SUP-03": {"By the books %s is used up.", "Count what is left, or fetch another."},
	"E-SUP-04": {"%s is kept by the %s.", "Say it in that."},
	"E-SUP-05": {"Only %s of %s in the store.", "Count again."},
	"E-SUP-06": {"%s may not take the place of %s.", "Fetch what is listed, or two agree."},
	"E-SUP-07": {"A %s is no %s.", "Fetch like for like."},
	"E-SUP-08": {"With %s the recipe cannot be kept.", "Fetch another size."},
	"E-UND-01": {"Too late to take back (%s).", "Use TAKE OUT or call."},
	"E-UND-02": {"This cannot be taken back.", "Use its own reverse, or call."},
	"E-LOG-01": {"That is no head of this log.", "Read the newest head and sign that."},
	"E-LOG-02": {"That is not signed with this floor's key.", "Look where the key is kept."},
	"E-LOG-03": {"That loss is in the log already (era %s).", "Go on with the work."},
	"E-DAY-01": {"Day %s is closed already.", "Look at its sheet."},
	"E-DAY-02": {"Day %s has not come yet.", "Close it in its evening."},
	"E-CLM-01": {"Not traced yet.", "Trace it against the log first."},
	"E-CLM-02": {"Claim %s is not open.", "Look at the list of claims."},
	"E-CLM-03": {"No such head of this log.", "Trace again, naming the head you read."},
	"E-CLM-04": {"No statement yet.", "Write the statement first."},
	"E-CLM-05": {"Decided already.", "Close the claim."},
	"E-CLM-06": {"Not decided yet.", "Decide it first."},
	"E-CLM-07": {"%q is no claim before this one.", "Link the later claim to the earlier."},
}
