package audit

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"

	"packwright/events"
)

// packedTypes are all that is ever packed.
var packedTypes = []any{new(lot), new(run), new(place), new(carton), new(plan), new(matter), new(bench), new(load), new(printed), new(kin), new(struct{ Left []departure })}

// fill puts something into every exported field, lists of up to three.
func fill(v reflect.Value, dice *rand.Rand, deep int) {
	if v.Type() == reflect.TypeFor[events.Time]() {
		v.Set(reflect.ValueOf(stamp((dice.Int64N(1<<41))<<11 | 1024 + 60).time()))
		return
	}
	if v.Type() == reflect.TypeFor[stamp]() {
		v.SetInt(dice.Int64N(1<<52)<<11 | dice.Int64N(2048))
		return
	}
	if dice.IntN(4) == 0 || deep > 6 {
		return // zero
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && f.Tag.Get("json") != "-" {
				fill(v.Field(i), dice, deep+1)
			}
		}
	case reflect.Slice:
		n := 1 + dice.IntN(3)
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			fill(v.Index(i), dice, deep+1)
		}
	case reflect.Array:
		for i := range v.Len() {
			fill(v.Index(i), dice, deep+1)
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), dice, deep+1)
	case reflect.String:
		v.SetString(fmt.Sprint("t", dice.IntN(1000)))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		v.SetUint(dice.Uint64() >> (64 - v.Type().Bits()) >> dice.IntN(v.Type().Bits()))
	default:
		v.SetInt(int64(dice.Uint64()>>(64-v.Type().Bits())) >> dice.IntN(v.Type().Bits()) >> 1)
	}
}

// TestPack: what is packed is unpacked the same, the same again gives the same
// bytes, and bytes that were cut or changed are an error or a row, never a panic.
func TestPack(t *testing.T) {
	for _, kind := range packedTypes {
		typ := reflect.TypeOf(kind).Elem()
		dice := rand.New(rand.NewPCG(5, 8))
		for range 200 {
			was := reflect.New(typ)
			fill(was.Elem(), dice, 0)
			b := pack(nil, was.Interface())
			got := reflect.New(typ)
			if err := unpack(b, got.Interface()); err != nil || !reflect.DeepEqual(was.Interface(), got.Interface()) {
				t.Fatalf("%s, %v\n was %+v\n got %+v", typ, err, was.Elem(), got.Elem())
			}
			if again := pack(nil, got.Interface()); string(again) != string(b) {
				t.Fatalf("%s: packed again it is otherwise", typ)
			}
			cut := dice.IntN(len(b))
			if err := unpack(b[:cut], reflect.New(typ).Interface()); err != nil && !errors.Is(err, errPacked) {
				t.Fatal(err)
			}
			b[cut] ^= 1 << dice.IntN(8)
			if err := unpack(b, reflect.New(typ).Interface()); err != nil && !errors.Is(err, errPacked) {
				t.Fatal(err)
			}
		}
	}
}

// TestIndex: every text is found by its number, and no other.
func TestIndex(t *testing.T) {
	var x index
	list := []string{""}
	for i := 1; i <= 5000; i++ {
		list = append(list, fmt.Sprint("C-", i))
		x.add(list, int32(i))
	}
	for _, built := range []bool{false, true} {
		if built {
			x.build(list)
		}
		for i, text := range list {
			if got := x.find(list, text); int(got) != i {
				t.Fatalf("%q is number %d, found %d", text, i, got)
			}
		}
		if got := x.find(list, "C-0"); got != 0 {
			t.Errorf("a text that is not there is number %d", got)
		}
		if len(x.table) > 4*len(list) {
			t.Errorf("%d places for %d texts", len(x.table), len(list))
		}
	}
}
