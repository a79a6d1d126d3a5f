package report

func (n Note) lineTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "lines", About: "lines", ID: "lines", Listed: true, Columns: u.heads(
		"No.|number", "Flight|flight", "Photos|photos|figure", "Length|length_m|figure", "Speed|speed_m_s|figure", "Allowed|allowed_m_s|figure",
		"Set by|limit", "Time|flown_s|figure", "To spare|spare_s|figure")}
	for i, l := range a.Lines {
		v := l.Speed
		t.add(marked("L", i), u.tally(l.Flight+1), u.tally(v.Photos), valued(u.Length(v.Length), v.Length, 3),
			valued(u.Speed(v.Ground), positive(v.Ground), 3), valued(u.Speed(positive(v.Allowed)), positive(v.Allowed), 3),
			u.term(func(l Locale) string { return l.limitName(v) }), valued(u.minutes(v.Flown), v.Flown, 3), valued(u.minutes(v.Spare), v.Spare, 3))
	}
	v := a.Speed
	for _, text := range []string{u.Say("All|lines"), "", "", "", u.Speed(v.Ground), u.Speed(positive(v.Allowed)), "", u.minutes(v.Flown), u.minutes(v.Spare)} {
		t.Total = append(t.Total, entry{Text: text})
	}
	return t
}

func (n Note) flightTable() table {
	u := n.Units.Short()
	t := table{Name: "flights", About: "flights", ID: "flights", Listed: true, Columns: u.heads(
		"No.|number", "First photo (UTC)|first_photo_utc", "Time|time_s|figure", "Shortest interval|shortest_interval_s|figure", "Photos|photos|figure",
		"Lines|lines|figure", "On lines|on_lines|figure", "In turns|in_turns|figure", "Elsewhere|elsewhere|figure")}
	for i, f := range n.Audit.Flights {
		length := f.End.Sub(f.Start).Seconds()
		t.add(marked("", i), timed(u.clock(f.Start, true), f.Start), valued(u.minutes(length), length, 3), valued(u.interval(f.Interval), positive(f.Interval), 3),
			u.tally(f.Photos), u.tally(f.Lines), u.tally(f.OnLine), u.tally(f.InTurn), u.tally(f.InTransit+f.InClimb+f.OnGround))
	}
	return t
}

func (n Note) missedTable() table {
	u := n.Units
	t := table{Name: "missing", About: "missing photos", ID: "missing", Listed: true, Columns: u.heads(
		"What|what", "How many|count|figure", "After|after", "Before|before", "Place (lat, lon)|lat_deg lon_deg", "Time (UTC)|time_utc")}
	for _, m := range n.Audit.Missed {
		t.add(u.term(func(l Locale) string { return l.missedName(m) }), u.tally(m.Count), words(m.After), words(m.Before), u.spot(m.Position), timed(u.clock(m.Time, false), m.Time))
	}
	return t
}

func (n Note) weakTable() table {
	u := n.Units.Short()
	t := table{Name: "weakest", About: "least forward overlap", ID: "weakest", Listed: true, Columns: u.heads(
		"Photo|photo", "Next|next", "Overlap|overlap_share|figure", "Apart|apart_m|figure", "Why|why|words")}
	for _, w := range n.Audit.Weakest {
		t.add(words(w.First), words(w.Second), valued(u.Percent(w.Overlap), w.Overlap, 6), valued(u.Length(w.Apart), w.Apart, 3), u.spoken(w.Cause))
	}
	return t
}

func (n Note) blurTable() table {
	a, u := n.Audit, n.Units.Short()
	t := table{Name: "blurred", About: "blurred photos", ID: "blurred", Snug: true, Listed: true, Columns: u.heads(
		"Photo|photo", "Blur|blur_px|figure", "Speed|speed_m_s|figure", "Exposure|exposure_s|figure")}
	for _, i := range a.Speed.Blurred {
		s := a.Shots[i]
		t.add(words(s.File), valued(u.fixed(s.Blur, 1)+" px", s.Blur, 2), valued(u.Speed(s.Speed), positive(s.Speed), 3), valued(u.exposure(s.ExposureTime), positive(s.ExposureTime), 6))
	}
	return t
}
