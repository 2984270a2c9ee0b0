package audit

import (
	"encoding/binary"
	"errors"
	"fmt"
	"reflect"
	"sync"

	"packwright/events"
)

// The compact form of a row, in which it rests when nobody works on it and in
// which a snapshot keeps it. A struct is the set of its fields that are not zero,
// one bit each, and then those fields; a number a varint, a text or a list its
// length and what is in it. Places in the log and moments are told by how far
// they lie from the one before in the same row, which is mostly one to three
// bytes. Equal rows give equal bytes.
//
// Only exported fields are kept; a row that needs another puts it right in
// [shelf.mend]. Types are looked at once, through reflect; maps, interfaces and
// functions have no compact form and panic at the first use.

// errPacked is the error for bytes that are no row.
var errPacked = errors.New("a packed row is not readable")

// codec writes and reads one type.
type codec struct {
	put func(*packer, reflect.Value)
	get func(*unpacker, reflect.Value)
}

// before is the last place and moment that a row has told.
type before struct {
	ref ref
	at  stamp
}

type packer struct {
	b    []byte
	last before
}

type unpacker struct {
	b    []byte
	last before
	bad  bool
}

var codecs sync.Map // reflect.Type → codec

// pack appends the compact form of what v points to.
func pack(b []byte, v any) []byte {
	p := packer{b: b}
	rv := reflect.ValueOf(v).Elem()
	codecOf(rv.Type()).put(&p, rv)
	return p.b
}

// unpack is the inverse of pack: v points to a zero value.
func unpack(b []byte, v any) error {
	u := unpacker{b: b}
	rv := reflect.ValueOf(v).Elem()
	codecOf(rv.Type()).get(&u, rv)
	if u.bad || len(u.b) > 0 {
		return fmt.Errorf("%w as %s", errPacked, rv.Type())
	}
	return nil
}

func codecOf(t reflect.Type) codec {
	if c, ok := codecs.Load(t); ok {
		return c.(codec)
	}
	c := makeCodec(t)
	codecs.Store(t, c)
	return c
}

func makeCodec(t reflect.Type) codec {
	switch {
	case t == reflect.TypeFor[ref]():
		return refCodec
	case t == reflect.TypeFor[stamp]():
		return stampCodec
	}
	switch t.Kind() {
	case reflect.Struct:
		if t == reflect.TypeFor[events.Time]() {
			return timeCodec
		}
		return structCodec(t)
	case reflect.Slice:
		return listCodec(t)
	case reflect.Array:
		return arrayCodec(t)
	case reflect.Pointer:
		return pointerCodec(t)
	case reflect.String:
		return codec{func(p *packer, v reflect.Value) { p.text(v.String()) },
			func(u *unpacker, v reflect.Value) { v.SetString(string(u.bytes())) }}
	case reflect.Bool:
		return codec{func(p *packer, v reflect.Value) { p.flag(v.Bool()) },
			func(u *unpacker, v reflect.Value) { v.SetBool(u.num() == 1) }}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return codec{func(p *packer, v reflect.Value) { p.b = binary.AppendVarint(p.b, v.Int()) },
			func(u *unpacker, v reflect.Value) { v.SetInt(u.signed()) }}
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return codec{func(p *packer, v reflect.Value) { p.b = binary.AppendUvarint(p.b, v.Uint()) },
			func(u *unpacker, v reflect.Value) { v.SetUint(u.num()) }}
	}
	panic(fmt.Sprintf("audit: %s has no compact form", t))
}

var refCodec = codec{
	func(p *packer, v reflect.Value) {
		r := ref(v.Uint())
		p.b = binary.AppendVarint(p.b, int64(r>>16)-int64(p.last.ref>>16))
		p.b = binary.AppendUvarint(p.b, uint64(r&0xffff))
		p.last.ref = r
	},
	func(u *unpacker, v reflect.Value) {
		frame := int64(u.last.ref>>16) + u.signed()
		u.last.ref = ref(frame)<<16 | ref(u.num()&0xffff)
		v.SetUint(uint64(u.last.ref))
	},
}

// A moment is the milliseconds since the one before, doubled, and one more when
// the clock's offset follows because it is another.
var stampCodec = codec{
	func(p *packer, v reflect.Value) {
		s := stamp(v.Int())
		d, off := (s.ms()-p.last.at.ms())<<1, int64(s)&2047
		if off == int64(p.last.at)&2047 {
			p.b = binary.AppendVarint(p.b, d)
		} else {
			p.b = binary.AppendUvarint(binary.AppendVarint(p.b, d|1), uint64(off))
		}
		p.last.at = s
	},
	func(u *unpacker, v reflect.Value) {
		d := u.signed()
		off := int64(u.last.at) & 2047
		if d&1 == 1 {
			off = int64(u.num() & 2047)
		}
		u.last.at = stamp((u.last.at.ms()+d>>1)<<11 | off)
		v.SetInt(int64(u.last.at))
	},
}

var timeCodec = codec{
	func(p *packer, v reflect.Value) {
		b, _ := v.Interface().(events.Time).AppendText(nil)
		p.text(string(b))
	},
	func(u *unpacker, v reflect.Value) {
		t, err := events.ParseTime(string(u.bytes()))
		u.bad = u.bad || err != nil
		v.Set(reflect.ValueOf(t))
	},
}

func structCodec(t reflect.Type) codec {
	var at []int
	var list []codec
	for i := range t.NumField() {
		if f := t.Field(i); f.IsExported() && f.Tag.Get("json") != "-" {
			at, list = append(at, i), append(list, codecOf(f.Type))
		}
	}
	if len(at) > 64 {
		panic(fmt.Sprintf("audit: %s has %d fields", t, len(at)))
	}
	return codec{
		func(p *packer, v reflect.Value) {
			var set uint64
			for k, i := range at {
				if !v.Field(i).IsZero() {
					set |= 1 << k
				}
			}
			p.b = binary.AppendUvarint(p.b, set)
			for k, i := range at {
				if set>>k&1 == 1 {
					list[k].put(p, v.Field(i))
				}
			}
		},
		func(u *unpacker, v reflect.Value) {
			set := u.num()
			for k, i := range at {
				if set>>k&1 == 1 {
					list[k].get(u, v.Field(i))
				}
			}
		},
	}
}

func listCodec(t reflect.Type) codec {
	if t.Elem().Kind() == reflect.Uint8 {
		return codec{func(p *packer, v reflect.Value) { p.text(string(v.Bytes())) },
			func(u *unpacker, v reflect.Value) { v.SetBytes(append([]byte{}, u.bytes()...)) }}
	}
	one := codecOf(t.Elem())
	return codec{
		func(p *packer, v reflect.Value) {
			p.b = binary.AppendUvarint(p.b, uint64(v.Len()))
			for i := range v.Len() {
				one.put(p, v.Index(i))
			}
		},
		func(u *unpacker, v reflect.Value) {
			n := int(min(u.num(), uint64(len(u.b)))) // every element takes a byte or more
			v.Set(reflect.MakeSlice(t, n, n))
			for i := range n {
				one.get(u, v.Index(i))
			}
		},
	}
}

func arrayCodec(t reflect.Type) codec {
	one := codecOf(t.Elem())
	return codec{
		func(p *packer, v reflect.Value) {
			for i := range t.Len() {
				one.put(p, v.Index(i))
			}
		},
		func(u *unpacker, v reflect.Value) {
			for i := range t.Len() {
				one.get(u, v.Index(i))
			}
		},
	}
}

func pointerCodec(t reflect.Type) codec {
	one := codecOf(t.Elem())
	return codec{
		func(p *packer, v reflect.Value) {
			p.flag(!v.IsNil())
			if !v.IsNil() {
				one.put(p, v.Elem())
			}
		},
		func(u *unpacker, v reflect.Value) {
			if u.num() == 1 {
				v.Set(reflect.New(t.Elem()))
				one.get(u, v.Elem())
			}
		},
	}
}

func (p *packer) text(s string) {
	p.b = append(binary.AppendUvarint(p.b, uint64(len(s))), s...)
}

func (p *packer) flag(on bool) {
	if on {
		p.b = append(p.b, 1)
	} else {
		p.b = append(p.b, 0)
	}
}

func (u *unpacker) num() uint64 {
	v, n := binary.Uvarint(u.b)
	return uint64(u.step(int64(v), n))
}

func (u *unpacker) signed() int64 {
	v, n := binary.Varint(u.b)
	return u.step(v, n)
}

// step takes n bytes off, which gave v; bytes that are no number are the end.
func (u *unpacker) step(v int64, n int) int64 {
	if n <= 0 {
		u.bad, u.b = true, nil
		return 0
	}
	u.b = u.b[n:]
	return v
}

func (u *unpacker) bytes() []byte {
	n := u.num()
	if n > uint64(len(u.b)) {
		u.bad, u.b = true, nil
		return nil
	}
	t := u.b[:n]
	u.b = u.b[n:]
	return t
}
