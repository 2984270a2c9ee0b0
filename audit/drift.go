package audit

import (
	"fmt"

	"packwright/events"
	"packwright/prep"
)

// Drift is the mean deviation of a scale's last cartons, each by its last
// reading. One carton that is wrong moves it little: a deviation counts as 3 at
// most. A scale that is wrong moves all of them.
type Drift struct {
	Scale string      `json:"scale"`
	N     int         `json:"n"` // cartons looked at
	MeanZ prep.Fixed  `json:"mean_z"`
	Alarm bool        `json:"alarm"` // check the scale
	Since events.Time `json:"since,omitzero"`
}

// driftOver is how many cartons are looked at; driftLimit the mean beyond which,
// either way, the scale is to be checked: 3.4 deviations of a mean of 8.
const (
	driftOver  = 8
	driftLimit = 1.2
	driftClip  = 3
)

// ScaleDrift looks at the last eight cartons weighed on a scale. With fewer there
// is no alarm.
func (f *Fold) ScaleDrift(key string) Drift {
	d := Drift{Scale: key}
	last := f.lastReadings(key, driftOver)
	sum := 0.0
	for _, w := range last {
		sum += min(driftClip, max(-driftClip, w.Own.Assess(w.Gross).Z.Float()))
		d.Since = w.Fact.At.time()
	}
	if d.N = len(last); d.N > 0 {
		mean := sum / float64(d.N)
		d.MeanZ = prep.FixedOf(mean)
		d.Alarm = d.N == driftOver && (mean > driftLimit || mean < -driftLimit)
	}
	return d
}

// lastReadings gives the last n cartons' last readings on a scale, of those whose
// weight could be foretold, the newest first.
func (f *Fold) lastReadings(key string, n int) (out []weighing) {
	seen := map[cartonID]bool{}
	for i := len(f.weighed) - 1; i >= 0 && len(out) < n; i-- {
		id := f.weighed[i]
		if seen[id] {
			continue // it was weighed again
		}
		seen[id] = true
		list := f.cartons.row(id).Weighs
		if w := list[len(list)-1]; f.names.text(w.Scale) == key && w.Own.Known && w.Own.SD > 0 {
			out = append(out, w)
		}
	}
	return out
}

// Words says what the drift means.
func (d Drift) Words() string {
	if !d.Alarm {
		return fmt.Sprintf("scale %s: no drift over %d cartons, mean z %+.1f", d.Scale, d.N, d.MeanZ.Float())
	}
	return fmt.Sprintf("check scale %s: its last %d cartons are off by %+.1f deviations on average", d.Scale, d.N, d.MeanZ.Float())
}
