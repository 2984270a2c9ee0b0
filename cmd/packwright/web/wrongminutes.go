package web

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"packwright/audit"
	"packwright/events"
)

// Minutes is what a bench did in the last minutes, on an axis of its own.
type Minutes struct {
	Bench string
	Label string
	Ticks []Tick
	Marks []Moment
	High  float64
}

// Moment is one thing that happened there, or several alike that followed each
// other: each has a stroke.
type Moment struct {
	Xs    []float64
	Short string // above the strokes
	TextX float64
	TextY float64
	From  events.Time
	Until events.Time
	Times int
	Text  string
	Class string
	Badge string
}

const (
	minutesWide, minutesEdge = 1216.0, 36.0
	letterWide               = 7.4 // of a sign of 14 px, at most
	rowHigh                  = 17.0
)

// minutesOf draws the last minutes bench by bench.
func minutesOf(list []audit.Happened) []Minutes {
	var out []Minutes
	for len(list) > 0 {
		n := 1
		for n < len(list) && list[n].Station == list[0].Station {
			n++
		}
		out = append(out, minutesAt(list[:n]))
		list = list[n:]
	}
	return out
}

func minutesAt(list []audit.Happened) Minutes {
	first, last := list[0].At, list[len(list)-1].At
	if !list[0].From.IsZero() {
		first = list[0].From
	}
	span := math.Max(last.Sub(first).Seconds(), 60)
	at := func(t events.Time) float64 {
		return r1(minutesEdge + t.Sub(first).Seconds()/span*(minutesWide-6*minutesEdge))
	}
	m := Minutes{Bench: list[0].Station}
	var words []string
	for _, h := range list {
		m.add(momentFrom(h, at))
	}
	for _, k := range m.Marks {
		words = append(words, k.From.Std().Format("15:04:05")+" "+k.Text)
	}
	m.Label = strings.Join(words, ", ")
	m.place()
	for t := first.Std().Truncate(60e9).Add(60e9); t.Before(last.Std()); t = t.Add(60e9) {
		m.Ticks = append(m.Ticks, Tick{at(events.At(t)), t.Format("15:04")})
	}
	return m
}

// placedOne reads "placed 1 of PLU in C-07" and "placed M-0036 (MG4) in C-04".
var placedOne = regexp.MustCompile(`^placed (?:1 of (\S+)|\S+ \((\S+)\)) in (\S+)$`)

func momentFrom(h audit.Happened, at func(events.Time) float64) Moment {
	k := Moment{From: h.At, Until: h.At, Times: h.Times, Text: h.Text, Short: brief(h.Text), Badge: h.Badge, Class: "st"}
	if !h.From.IsZero() {
		k.From = h.From
	}
	a, b := at(k.From), at(k.Until)
	for i := range h.Times {
		k.Xs = append(k.Xs, r1(a+(b-a)*float64(i)/float64(max(h.Times-1, 1))))
	}
	if m := placedOne.FindStringSubmatch(h.Text); m != nil {
		k.Text = fmt.Sprintf("%s placed in %s", m[1]+m[2], m[3])
	}
	if strings.Contains(h.Text, "raised") || strings.HasPrefix(h.Text, "counted") || strings.HasPrefix(h.Text, "weighed") {
		k.Class = "st no"
	}
	return k
}

// add joins a moment to the one before when both placed pieces alike.
func (m *Minutes) add(k Moment) {
	n := len(m.Marks) - 1
	placed := strings.Contains(k.Text, " placed in ")
	if placed && n >= 0 && m.Marks[n].Text == k.Text && m.Marks[n].Badge == k.Badge {
		o := &m.Marks[n]
		o.Xs, o.Until, o.Times = append(o.Xs, k.Xs...), k.Until, o.Times+k.Times
		k = *o
	} else {
		m.Marks = append(m.Marks, k)
		n++
	}
	if placed {
		m.Marks[n].Short = fmt.Sprintf("%d %s", k.Times, strings.Fields(k.Text)[0])
	}
}

// brief is a sentence cut before its particulars.
func brief(s string) string {
	if i := strings.IndexAny(s, ":("); i > 0 && len(s) > 24 {
		return strings.TrimSpace(s[:i])
	}
	return s
}

// place sets the words above the strokes, each on the first row that is free.
func (m *Minutes) place() {
	var ends []float64
	for i := range m.Marks {
		k := &m.Marks[i]
		wide := float64(len([]rune(k.Short))) * letterWide
		x, row := min(k.Xs[0], minutesWide-wide), 0
		for row < len(ends) && ends[row] > x {
			row++
		}
		if row == len(ends) {
			ends = append(ends, 0)
		}
		ends[row] = x + wide + 8
		k.TextX, k.TextY = r1(x), float64(row)
	}
	m.High = float64(len(ends))*rowHigh + 50
	for i := range m.Marks { // the first row stands nearest to the strokes
		m.Marks[i].TextY = m.High - 56 - m.Marks[i].TextY*rowHigh + 8
	}
}

// Top is where the strokes begin.
func (m Minutes) Top() float64 { return m.High - 42 }

// Floor is where the axis is.
func (m Minutes) Floor() float64 { return m.High - 4 }
