package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
)

// Keep keeps something about the material of a hash, as JSON, in place of what
// was kept under that word; nil keeps nothing.
func (db *DB) Keep(ctx context.Context, hash, what string, content any) error {
	if content == nil {
		_, err := db.pool.ExecContext(ctx, `DELETE FROM material_kept WHERE hash = ? AND what = ?`, hash, what)
		return explain(db.path, err)
	}
	text, err := json.Marshal(content)
	if err != nil {
		return fmt.Errorf("the %s of a material cannot be kept: %w", what, err)
	}
	_, err = db.pool.ExecContext(ctx, `INSERT INTO material_kept (hash, what, content) VALUES (?, ?, ?)
		ON CONFLICT (hash, what) DO UPDATE SET content = excluded.content`, hash, what, string(text))
	return explain(db.path, err)
}

// Kept reads into content what was kept; ok is false where nothing was.
func (db *DB) Kept(ctx context.Context, hash, what string, content any) (ok bool, err error) {
	var text string
	err = db.pool.QueryRowContext(ctx, `SELECT content FROM material_kept WHERE hash = ? AND what = ?`, hash, what).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	if err != nil {
		return false, explain(db.path, err)
	}
	if err := json.Unmarshal([]byte(text), content); err != nil {
		return false, fmt.Errorf("the %s that were kept of a material cannot be read: %w", what, err)
	}
	return true, nil
}

// A Label is a name that materials are found under.
type Label struct {
	Kind LabelKind
	Name string
}

// LabelKind is what a label is for.
type LabelKind string

const (
	// Tag says something about a material.
	Tag LabelKind = "tag"
	// Collection is materials that are practised on in turn.
	Collection LabelKind = "collection"
)

// SetLabels gives a material exactly these labels.
func (db *DB) SetLabels(ctx context.Context, hash string, labels []Label) error {
	return explain(db.path, db.inOne(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM material_label WHERE hash = ?`, hash); err != nil {
			return err
		}
		for _, l := range labels {
			_, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO material_label (kind, name, hash) VALUES (?, ?, ?)`, string(l.Kind), l.Name, hash)
			if err != nil {
				return err
			}
		}
		return nil
	}))
}

// Labels are those of every material that has any, by hash, tags last, each
// kind by name.
func (db *DB) Labels(ctx context.Context) (map[string][]Label, error) {
	rows, err := db.pool.QueryContext(ctx, `SELECT hash, kind, name FROM material_label ORDER BY kind, name, hash`)
	if err != nil {
		return nil, explain(db.path, err)
	}
	defer rows.Close()
	labels := map[string][]Label{}
	for rows.Next() {
		var hash string
		var l Label
		if err := rows.Scan(&hash, (*string)(&l.Kind), &l.Name); err != nil {
			return nil, explain(db.path, err)
		}
		labels[hash] = append(labels[hash], l)
	}
	return labels, explain(db.path, rows.Err())
}

// ForgetMaterial forgets a material: where it is, what was decided about it and
// measured of it, and its labels. Answers that were given on it stay, and its
// files are never touched.
func (db *DB) ForgetMaterial(ctx context.Context, hash string) error {
	return explain(db.path, db.inOne(ctx, func(tx *sql.Tx) error {
		for _, table := range []string{"material", "material_kept", "material_label"} {
			if _, err := tx.ExecContext(ctx, `DELETE FROM `+table+` WHERE hash = ?`, hash); err != nil {
				return err
			}
		}
		return nil
	}))
}

// NamesOf are the names of all labels of a kind, in order.
func NamesOf(kind LabelKind, labels map[string][]Label) []string {
	names := map[string]bool{}
	for _, all := range labels {
		for _, l := range all {
			if l.Kind == kind {
				names[l.Name] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(names))
}
