package events

import (
	"fmt"
	"time"
)

// Time is a moment to the millisecond with the offset of the clock that told
// it, written as RFC 3339. The zero Time means: not told.
type Time struct {
	ms  int64 // since 1970-01-01T00:00:00Z
	off int16 // minutes east of UTC
	set bool
}

// At takes a time.Time, cut to the millisecond.
func At(t time.Time) Time {
	if t.IsZero() {
		return Time{}
	}
	_, off := t.Zone()
	return Time{ms: t.UnixMilli(), off: int16(off / 60), set: true}
}

// ParseTime reads an RFC 3339 moment. Errors name the text.
func ParseTime(s string) (Time, error) {
	if t, ok := fastTime(s); ok {
		return t, nil
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return Time{}, fmt.Errorf("%q is not a moment like 2031-03-04T13:51:24Z", s)
	}
	return At(t), nil
}

// Std gives the time.Time.
func (t Time) Std() time.Time {
	if !t.set {
		return time.Time{}
	}
	if t.off == 0 {
		return time.UnixMilli(t.ms).UTC()
	}
	return time.UnixMilli(t.ms).In(time.FixedZone("", int(t.off)*60))
}

// IsZero says that no moment was told.
func (t Time) IsZero() bool { return !t.set }

// Before compares moments, whatever their offsets.
func (t Time) Before(u Time) bool { return t.ms < u.ms }

// After compares moments, whatever their offsets.
func (t Time) After(u Time) bool { return t.ms > u.ms }

// Sub gives t − u.
func (t Time) Sub(u Time) time.Duration { return time.Duration(t.ms-u.ms) * time.Millisecond }

// Add gives t + d, in t's offset.
func (t Time) Add(d time.Duration) Time {
	t.ms += d.Milliseconds()
	return t
}

// Max gives the later of two moments.
func Max(t, u Time) Time {
	if u.ms > t.ms || !t.set {
		return u
	}
	return t
}

// Clock gives hours, minutes and seconds as the floor reads them: 13:51:24.
func (t Time) Clock() string { return t.Std().Format("15:04:05") }

// String gives RFC 3339, with milliseconds only when there are some.
func (t Time) String() string {
	if !t.set {
		return ""
	}
	b, _ := t.AppendText(nil)
	return string(b)
}

// AppendText appends the RFC 3339 form.
func (t Time) AppendText(b []byte) ([]byte, error) {
	if !t.set {
		return b, nil
	}
	layout := "2006-01-02T15:04:05Z07:00"
	if t.ms%1000 != 0 {
		layout = "2006-01-02T15:04:05.000Z07:00"
	}
	return t.Std().AppendFormat(b, layout), nil
}

// MarshalJSON gives the RFC 3339 form in quotes.
func (t Time) MarshalJSON() ([]byte, error) {
	b := append(make([]byte, 0, 32), '"')
	b, _ = t.AppendText(b)
	return append(b, '"'), nil
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (t *Time) UnmarshalJSON(b []byte) error {
	if len(b) >= 2 && b[0] == '"' {
		b = b[1 : len(b)-1]
	}
	if len(b) == 0 || string(b) == "null" {
		*t = Time{}
		return nil
	}
	got, err := ParseTime(string(b))
	*t = got
	return err
}

// fastTime reads what AppendText writes, with or without milliseconds, in UTC or
// with an offset; all else goes the long way.
func fastTime[T ~string | ~[]byte](s T) (t Time, ok bool) {
	if len(s) < 20 || s[4] != '-' || s[7] != '-' || s[10] != 'T' || s[13] != ':' || s[16] != ':' {
		return Time{}, false
	}
	y, mo, d, h, mi, sec, ms := digits(s[:4]), digits(s[5:7]), digits(s[8:10]), digits(s[11:13]), digits(s[14:16]), digits(s[17:19]), 0
	zone := s[19:]
	if zone[0] == '.' && len(zone) > 4 {
		ms, zone = digits(zone[1:4]), zone[4:]
	}
	off, ok := offset(zone)
	if !ok || y < 1 || mo < 1 || mo > 12 || d < 1 || d > 31 || h < 0 || h > 23 || mi < 0 || mi > 59 || sec < 0 || sec > 59 || ms < 0 {
		return Time{}, false
	}
	if d > 28 && civilDays(y, mo, d) >= civilDays(y+mo/12, mo%12+1, 1) {
		return Time{}, false // no such day
	}
	local := civilDays(y, mo, d)*86_400_000 + int64(h*3600+mi*60+sec)*1000 + int64(ms)
	return Time{ms: local - int64(off)*60_000, off: int16(off), set: true}, true
}

// digits reads a number of digits alone; what is none comes out below 0.
func digits[T ~string | ~[]byte](s T) (n int) {
	for i := range len(s) {
		c := int(s[i]) - '0'
		if c < 0 || c > 9 {
			return -1
		}
		n = n*10 + c
	}
	return n
}

// offset reads Z or +02:00, in minutes.
func offset[T ~string | ~[]byte](s T) (minutes int, ok bool) {
	if len(s) == 1 {
		return 0, s[0] == 'Z'
	}
	if len(s) != 6 || s[3] != ':' || s[0] != '+' && s[0] != '-' {
		return 0, false
	}
	h, m := digits(s[1:3]), digits(s[4:])
	if minutes = h*60 + m; s[0] == '-' {
		minutes = -minutes
	}
	return minutes, h >= 0 && h < 24 && m >= 0 && m < 60
}

// civilDays counts days from 1970-01-01 in the proleptic Gregorian calendar, by
// shifting the year to begin in March so that the leap day comes last.
func civilDays(y, m, d int) int64 {
	if m <= 2 {
		y--
		m += 12
	}
	era := y / 400
	yoe := y - era*400
	doy := (153*(m-3)+2)/5 + d - 1
	doe := yoe*365 + yoe/4 - yoe/100 + doy
	return int64(era)*146097 + int64(doe) - 719468
}
