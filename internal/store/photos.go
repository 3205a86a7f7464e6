package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"

	"github.com/evenstroke/evenstroke/internal/record"
)

// Photo is a picture that was checked and encoded anew: JPEG, with a small one for lists.
type Photo struct {
	Hash          record.Digest // of Data
	Width, Height int
	Data, Thumb   []byte
}

// PutPhoto keeps a picture under the digest of its data; the same picture again is kept once.
func (s *Store) PutPhoto(ctx context.Context, p Photo) (record.Digest, error) {
	if len(p.Data) == 0 || len(p.Thumb) == 0 {
		return record.Digest{}, record.Faultf(record.Invalid, "photo", "nothing", "a picture, and a small one", "")
	}
	hash := record.Digest(sha256.Sum256(p.Data))
	err := s.transact(ctx, "keeping a photo", func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO photo (hash, width, height, stored, size, thumb, data) VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING`,
			hash[:], p.Width, p.Height, s.now().UnixMicro(), len(p.Data), p.Thumb, p.Data)
		return err
	})
	return hash, err
}

// GetPhoto reads a picture; with small only the small one.
func (s *Store) GetPhoto(ctx context.Context, hash record.Digest, small bool) (Photo, error) {
	column := "data"
	if small {
		column = "thumb"
	}
	p := Photo{Hash: hash}
	var data []byte
	err := s.read.QueryRowContext(ctx, `SELECT width, height, `+column+` FROM photo WHERE hash = $1`, hash[:]).Scan(&p.Width, &p.Height, &data)
	if errors.Is(err, sql.ErrNoRows) {
		return p, record.Faultf(record.NotFound, "photo", "no such picture", "the digest of a kept picture", "")
	}
	if err != nil {
		return Photo{}, s.fault("reading a photo", err)
	}
	if small {
		p.Thumb = data
	} else {
		p.Data = data
	}
	return p, nil
}

func havePhoto(ctx context.Context, tx *sql.Tx, hash record.Digest) error {
	var one int
	err := tx.QueryRowContext(ctx, `SELECT 1 FROM photo WHERE hash = $1`, hash[:]).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return record.Faultf(record.NotFound, "photo", "no such picture", "the digest of a kept picture", "store the picture first")
	}
	return err
}
