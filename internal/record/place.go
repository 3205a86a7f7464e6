package record

func line[T Body](e, root *Entry, b T) Line[T] { return Line[T]{Entry: e, First: root, Body: b} }

func (j *Job) place(e, root *Entry, b Body) {
	switch b := b.(type) {
	case *Booked:
		j.Booked = b
	case *Noted:
		j.Notes = append(j.Notes, line(e, root, b))
	case *Pictured:
		j.Pictures = append(j.Pictures, line(e, root, b))
	case *Benched:
		j.Bench[b.Hold] = b
	case *Pressed:
		j.Presses = append(j.Presses, line(e, root, b))
	case *Read:
		j.Readings = append(j.Readings, line(e, root, b))
	case *Judged:
		j.Verdicts = append(j.Verdicts, line(e, root, b))
	case *Found:
		j.Findings = append(j.Findings, line(e, root, b))
	case *Minded:
		j.Minded[b.Caution] = e
	default:
		j.placeWork(e, root, b)
	}
}

func (j *Job) placeWork(e, root *Entry, b Body) {
	switch b := b.(type) {
	case *Chose:
		l := line(e, root, b)
		j.Chosen = &l
	case *Soaking:
		j.Soaks = append(j.Soaks, line(e, root, b))
	case *Did:
		j.Done = append(j.Done, line(e, root, b))
	case *Stacked:
		j.Stacks = append(j.Stacks, line(e, root, b))
	case *Moved:
		j.Moves = append(j.Moves, line(e, root, b))
		j.Closed = nil // a job that is moved after it was closed is open again
	case *Overrode:
		j.Overrides = append(j.Overrides, line(e, root, b))
	case *Priced:
		j.Prices = append(j.Prices, line(e, root, b))
	case *Handed:
		l := line(e, root, b)
		j.Handed = &l
	case *Closed:
		l := line(e, root, b)
		j.Closed = &l
	}
}
