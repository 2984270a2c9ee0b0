package workflow

import "packwright/events"

var benchRules = []rule{}

func (f *Floor) stationJoined(e *events.Event, d *events.StationJoined) error { return nil }

func (f *Floor) sessionStarted(e *events.Event, d *events.SessionStarted) error { return nil }

func (f *Floor) sessionEnded(e *events.Event, d *events.SessionEnded) error { return nil }

func (f *Floor) stationQuiet(e *events.Event, d *events.StationQuiet) error { return nil }

func (f *Floor) stationCaughtUp(e *events.Event, d *events.StationCaughtUp) error { return nil }

func (f *Floor) clockSkewNoted(e *events.Event, d *events.ClockSkewNoted) error { return nil }

func (f *Floor) scanRefused(e *events.Event, d *events.ScanRefused) error { return nil }

func (f *Floor) lateReported(e *events.Event, d *events.LateReported) error { return nil }

func (f *Floor) actionTakenBack(e *events.Event, d *events.ActionTakenBack) error { return nil }
