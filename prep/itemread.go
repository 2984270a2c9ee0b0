package prep

// ParseItems reads a list of items from YAML:
//
//	defaults: {hazard_pictogram: no, aerosol: no}
//	items:
//	  - item: PUZ
//	    name: harbour puzzle
//	    codes: 9520000010041
//	    trace: class
//	    unit: 640 g
//	    outer: closed
//
// The names of attributes stand beside the item's own names. Defaults are an
// owner's plain statement about every item that does not say otherwise; without
// it what is not said is unknown. All errors come at once, each an *InputError
// with its place.
func ParseItems(file string, src []byte) ([]Item, error) {
	s, root := readSource(file, src)
	if root == nil {
		return nil, s.failed()
	}
	var defaults Attrs
	var list []node
	root.fields("a file of items", []field{
		{"defaults", func(n node) { n.fields("the defaults", attrFields(&defaults)) }},
		{"items", func(n node) { list = n.items() }},
	})
	items := make([]Item, 0, len(list))
	seen := map[string]bool{}
	for _, n := range list {
		it := n.item(defaults)
		if seen[it.Item] {
			n.fail(quoted(it.Item)+" is there twice", "keep one of them")
		}
		seen[it.Item] = true
		items = append(items, it)
	}
	if len(list) == 0 {
		root.fail("there are no items", "write items: and one - item: for each")
	}
	if err := s.failed(); err != nil {
		return nil, err
	}
	return items, nil
}

func (n node) item(defaults Attrs) Item {
	before := len(n.src.errs)
	it := Item{Attrs: defaults, Trace: TraceClass}
	n.fields("an item", append([]field{
		{"item", &it.Item},
		{"name", &it.Name},
		{"codes", func(n node) { it.Codes = n.codes() }},
		{"owner", &it.Owner},
		{"trace", func(n node) { it.Trace = Trace(n.text()) }},
		{"unit", &it.UnitG},
		{"unit_sd", &it.UnitSD},
		{"dims", &it.Dims},
		{"value_minor", &it.Value},
		{"set_of", &it.Set},
	}, attrFields(&it.Attrs)...))
	if len(n.src.errs) > before {
		return it // what follows from a value that could not be read is no news
	}
	for _, err := range unjoined(it.Validate()) {
		n.refuse(err)
	}
	return it
}

func attrFields(a *Attrs) []field {
	list := make([]field, len(attributes))
	for i := range attributes {
		at := &attributes[i]
		list[i] = field{at.name, func(n node) {
			if at.many {
				n.words(at, a)
				return
			}
			n.refuse(at.set(a, n.text()))
		}}
	}
	return list
}

// words reads a set of words.
func (n node) words(at *attribute, a *Attrs) {
	all := ""
	for _, item := range n.items() {
		word := item.text()
		var one Attrs
		if err := at.set(&one, word); err != nil {
			item.refuse(err)
			return
		}
		all += word + ","
	}
	n.refuse(at.set(a, all))
}

func (n node) codes() []GTIN {
	var out []GTIN
	for _, item := range n.items() {
		code, err := ParseGTIN(item.text())
		item.refuse(err)
		out = append(out, code)
	}
	return out
}

// unjoined takes apart what errors.Join put together.
func unjoined(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		return many.Unwrap()
	}
	if err == nil {
		return nil
	}
	return []error{err}
}
