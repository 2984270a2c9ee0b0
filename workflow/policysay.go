package workflow

import (
	"fmt"
	"maps"
	"slices"
)

// say is what one switch gives up when it stands so.
type say struct {
	so   bool
	path string
	text string
}

// Sentences says in words what the house gives up by each switch, in the order
// of the file; a policy that gives up nothing has one sentence that says so.
// Each begins with the switch as it stands.
func Sentences(p *Policy) []string {
	var out []string
	for _, s := range append(p.hands(), p.clocks()...) {
		if s.so {
			out = append(out, s.path+": "+s.text)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.Delegated)) {
		d := p.Delegated[name]
		out = append(out, fmt.Sprintf("delegated/%s: a supervisor alone may change up to %d units, and up to %d %% of a line; %s learns of it afterwards.", name, d.Units, d.Percent, name))
	}
	for _, name := range slices.Sorted(maps.Keys(p.Destinations)) {
		out = append(out, p.Destinations[name].gaps("destinations/"+name)...)
	}
	if len(out) == 0 {
		return []string{"Nothing is given up: every check there is, is asked for."}
	}
	return out
}

// hands are the switches about who looks, and at what.
func (p *Policy) hands() []say {
	return []say{
		{p.Persons == 1, "persons: 1", "nobody else looks. A second look is the same person ten minutes later, or the scale; it is kept as weaker evidence."},
		{!p.Totes, "totes: no", "each lot is its own tote. Half-done lots cannot be told apart by place, and a piece set down elsewhere is found by looking."},
		{!p.Runs, "runs: no", "the first scan of a lot at a bench opens its run. When work really began is not known, and minutes per unit are rough."},
		{!p.PairCheck, "pair_check: no", "code and label are not compared before an outer box closes. A label on the wrong one of two like boxes shows only by weight."},
		{!p.HandCount, "hand_count: no", "where the scale can see one unit missing, nobody counts. Two wrong pieces of one mass look right."},
		{p.HandCount && !p.SecondHand && p.Persons > 1, "second_hand: no", "who placed the units may count them, having seen the tally rise. Such a count is kept as by the placer, and is weaker."},
		{p.HandCount && !p.SecondHand && p.Persons > 1 && p.SecondOneIn == 0 && p.SecondAbove == 0, "second_one_in: 0", "no carton is drawn for a second person's count; a habit of guessing stays unseen."},
		{!p.Scale, "scale: no", "nothing but hands can contradict the scans. A piece in without a scan, and one out without a scan, cancel unseen."},
		{!p.Balance, "label_balance: no", "numbered labels left over from a run are not looked for. One of them may end on another box."},
		{!p.Clearances, "clearances: no", "every packer may prep by every recipe. Who has learnt which is not asked."},
		{!p.Supplies, "supplies: no", "a roll or pack may be used that was never received. What is on hand is then not known, and its price is the catalogue's."},
		{p.Supplies && len(p.Reorder) == 0, "reorder: none", "nothing says that a material runs low before it is gone."},
	}
}

// clocks are the switches about time and money.
func (p *Policy) clocks() []say {
	return []say{
		{p.SameScanMS == 0, "same_scan_ms: 0", "a reader that reads one code twice makes two units of it; only a count or the scale shows it."},
		{p.SameScanMS > 0, fmt.Sprintf("same_scan_ms: %d", p.SameScanMS), "two equal class codes within that time are one. A hand faster than that loses a scan; say several by a number card."},
		{p.QuietMinutes > 10, fmt.Sprintf("quiet_minutes: %d", p.QuietMinutes), "a bench that has lost its line with work open is noticed that late."},
		{p.QuietCall == 0, "quiet_call: 0", "nobody is sent to a bench that stays silent."},
		{p.IdleMinutes == 0, "idle_minutes: 0", "a badge stays signed in until it signs out. What is scanned there meanwhile is its word."},
		{p.Scale && p.ScaleHours > 24, fmt.Sprintf("scale_hours: %d", p.ScaleHours), "a scale that drifts is believed for more than a day."},
		{p.DivertLimit == 0, "divert_limit: 0", "any packer may send goods of any worth to another channel."},
		{p.WriteOff == 0, "write_off_limit: 0", "a supervisor may write off goods of any worth without the owner."},
		{p.TakeBackLast == 0, "take_back_last: 0", "a wrong scan can be mended only by its own reverse."},
	}
}

// gaps says which limits a destination does not set.
func (d Destination) gaps(at string) (out []string) {
	for _, s := range []say{
		{d.MaxMass == 0, at + "/max_mass", "no limit. A carton may be too heavy for the other end, or for a back."},
		{d.MaxSide == 0, at + "/max_side", "no limit. A carton may be refused for its size."},
		{d.ShelfDays == 0, at + "/shelf_days: 0", "best-before dates are not looked at."},
		{!d.OneOwner, at + "/one_owner: no", "goods of two owners may share a carton; a loss cannot be laid to one of them."},
		{!d.OneDate, at + "/one_date: no", "a line may hold several best-before dates; the earliest rules them all."},
	} {
		if s.so {
			out = append(out, s.path+": "+s.text)
		}
	}
	return out
}
