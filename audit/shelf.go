package audit

// shelf holds rows of one noun by number and by name. Row 0 is blank: number 0
// means none. Rows are pointers, so that a row stays where it is as others come.
type shelf[ID ~int32, T any] struct {
	Keys []string
	Rows []*T

	at map[string]ID
}

func newShelf[ID ~int32, T any]() shelf[ID, T] {
	return shelf[ID, T]{Keys: []string{""}, Rows: []*T{new(T)}, at: map[string]ID{}}
}

// find gives the number of a name that is there.
func (s *shelf[ID, T]) find(key string) (ID, bool) {
	id, ok := s.at[key]
	return id, ok
}

// get gives the row of a name, or nil.
func (s *shelf[ID, T]) get(key string) *T {
	if id, ok := s.at[key]; ok {
		return s.Rows[id]
	}
	return nil
}

// id gives the number of a name and makes a row when there is none.
func (s *shelf[ID, T]) id(key string) ID {
	if id, ok := s.at[key]; ok {
		return id
	}
	id := ID(len(s.Rows))
	s.Keys = append(s.Keys, key)
	s.Rows = append(s.Rows, new(T))
	s.at[key] = id
	return id
}

// index rebuilds the map after the rows were read back.
func (s *shelf[ID, T]) index() {
	s.at = make(map[string]ID, len(s.Keys))
	for i, k := range s.Keys {
		if i > 0 {
			s.at[k] = ID(i)
		}
	}
}
