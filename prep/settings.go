package prep

// Setting ties a name in a file of settings to where its value goes: a pointer
// to string, bool (yes or no), int, Length, Mass, Money or Fixed; a []Setting
// for a mapping; or a func(name string) []Setting for a mapping whose names are
// the writer's own.
type Setting struct {
	Name string
	Into any
}

// ReadSettings reads an owner's file of settings in the strict YAML of
// rulebooks: a name that is none of the list, comes twice, or has a value of
// another kind is refused with its place and the nearest known name. What the
// file leaves out keeps its value. Measures have their unit: 22.5 kg, 63 cm;
// money is in minor units. check, when not nil, then says what cannot
// be so: it names a setting by its path, as in destinations/north/max_mass.
// All errors come at once, joined, each an *InputError.
func ReadSettings(file string, src []byte, list []Setting, check func(fail func(path, what, do string))) error {
	s, root := readSource(file, src)
	if root == nil {
		return s.failed()
	}
	root.settings("", "this file", list)
	if check != nil && len(s.errs) == 0 {
		check(func(path, what, do string) { s.fail(s.place(path), what, do) })
	}
	return s.failed()
}

// settings reads one mapping and marks where each name stands.
func (n node) settings(at, what string, list []Setting) {
	fields := make([]field, len(list))
	for i, set := range list {
		here := set.Name
		if at != "" {
			here = path(at, set.Name)
		}
		fields[i] = field{set.Name, func(v node) {
			v.mark(here, v.place())
			v.setting(here, set)
		}}
	}
	n.fields(what, fields)
}

func (n node) setting(at string, set Setting) {
	switch into := set.Into.(type) {
	case []Setting:
		n.settings(at, set.Name, into)
	case func(string) []Setting:
		for _, p := range n.pairs() {
			here := path(at, p.key)
			n.mark(here, p.at)
			p.value.settings(here, set.Name, into(p.key))
		}
	case *Mass:
		m, err := ParseMass(n.text())
		*into = m
		n.refuse(err)
	case *Length:
		l, err := ParseLength(n.text())
		*into = l
		n.refuse(err)
	default:
		n.into(into)
	}
}
