package shop

import "context"

// MostRoom is how much of photos and archives may be in memory at once, in bytes.
const MostRoom = 256 << 20

// Room takes room for a large body of n bytes (below 0: of a length that is not known) and at most so many; who comes when there is none
// waits, as long as ctx allows. done gives it back.
func (s *Shop) Room(ctx context.Context, n, most int64) (done func(), err error) {
	if n < 0 || n > most {
		n = most
	}
	if err := s.room.Acquire(ctx, n); err != nil {
		return nil, err
	}
	return func() { s.room.Release(n) }, nil
}
