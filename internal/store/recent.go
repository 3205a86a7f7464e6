package store

import "sync"

// Recent keeps values that were used lately, so that they are not made again: at most twice its size. It has two halves; what is
// asked for moves into the young one, and when that is full the old one is dropped. What stands under a key is taken to be the same for
// ever, as what is made of an entry is under its digest, unless another is put there. It is safe for concurrent use.
type Recent[K comparable, V any] struct {
	mu         sync.Mutex
	size       int
	young, old map[K]V
}

// NewRecent makes one of a size.
func NewRecent[K comparable, V any](size int) *Recent[K, V] {
	return &Recent[K, V]{size: max(size, 1), young: map[K]V{}}
}

// Get gives the value under a key, made by make when it is not there. An error is given on and not kept.
func (r *Recent[K, V]) Get(k K, make func() (V, error)) (V, error) {
	if v, ok := r.Peek(k); ok {
		return v, nil
	}
	v, err := make() // twice when two ask at once
	if err == nil {
		r.Put(k, v)
	}
	return v, err
}

// Peek gives the value under a key, if it is there.
func (r *Recent[K, V]) Peek(k K) (V, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	v, ok := r.young[k]
	if !ok {
		if v, ok = r.old[k]; ok {
			r.put(k, v)
		}
	}
	return v, ok
}

// Put puts a value under a key in place of the one that is there: for values that age.
func (r *Recent[K, V]) Put(k K, v V) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.put(k, v)
}

func (r *Recent[K, V]) put(k K, v V) {
	if len(r.young) >= r.size {
		r.old, r.young = r.young, map[K]V{}
	}
	r.young[k] = v
}
