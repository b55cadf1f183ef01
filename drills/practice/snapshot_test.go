package practice_test

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/ncruces/go-sqlite3/driver"

	"strop/drills"
	"strop/drills/practice"
	"strop/drills/sqlite"
	"strop/drills/tools"
)

// answered are records of sittings over several days.
func (d *desk) answered(t testing.TB, n int) []drills.Record {
	t.Helper()
	other := newDesk(&testing.T{}, 3)
	for sitting := 0; len(other.records) < n; sitting++ {
		trials := min(40, n-len(other.records))
		other.sit(other.engine(trials, uint64(sitting), "eq-band"), trials)
		other.now = other.now.Add(26 * time.Hour)
	}
	for i := range other.records {
		other.records[i].Trial.Session, other.records[i].Trial.Rung = "s", "five"
		other.records[i].Trial.Condition = headphones
	}
	return other.records
}

// memory is a History in memory.
type memory struct {
	records []drills.Record
	held    int // of the last ones
	name    string
	content []byte
	upto    int64
	read    int
	failing bool
}

func (m *memory) Snapshot(_ context.Context, name string) ([]byte, int64, error) {
	if name != m.name {
		return nil, 0, nil
	}
	return m.content, m.upto, nil
}

func (m *memory) PutSnapshot(_ context.Context, name string, content []byte, upto int64) error {
	if m.failing {
		return errors.New("the disk is full")
	}
	m.name, m.content, m.upto = name, content, upto
	return nil
}

func (m *memory) EachSince(_ context.Context, after int64, do func(int64, drills.Record)) error {
	m.read = 0
	for i, r := range m.records {
		number := int64(i + 1)
		if i >= len(m.records)-m.held {
			number = 0
		}
		if number == 0 || number > after {
			m.read++
			do(number, r)
		}
	}
	return nil
}

func load(t testing.TB, h practice.History) *practice.State {
	t.Helper()
	s, err := practice.Load(t.Context(), h, tools.All())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func replayed(records []drills.Record) *practice.State {
	s := practice.NewState(tools.Find)
	for _, r := range records {
		s.Learn(r)
	}
	return s
}

// sameState compares all that can be seen of two states, to the last bit.
func sameState(t *testing.T, got, want *practice.State, now time.Time) {
	t.Helper()
	if diff := cmp.Diff(want.Report(now), got.Report(now)); diff != "" {
		t.Error(diff)
	}
	if got.Records() != want.Records() || got.Calibration() != want.Calibration() {
		t.Errorf("%d records, want %d", got.Records(), want.Records())
	}
	one, two := planned(got, now), planned(want, now)
	if diff := cmp.Diff(one, two); diff != "" {
		t.Errorf("the next sitting differs: %s", diff)
	}
}

// planned is what would be asked next.
func planned(s *practice.State, now time.Time) (asked []string) {
	tool, _ := tools.Find("eq-band")
	e := practice.NewEngine(practice.Config{State: s, Condition: headphones, Trials: 40, Seed: 9, Clock: func() time.Time { return now },
		Parts: []practice.Part{{Tool: tool, Rung: tool.Rungs[0]}}})
	for n := range 40 {
		a := e.Next(n + 1)
		asked = append(asked, fmt.Sprint(a.Region, a.Level, a.AimDB, a.Kind, a.Chance, a.HarderDB(drills.Loop{Material: "m", StartFrame: 480000})))
	}
	return asked
}

// From a snapshot the state is that of a replay to the last bit, and only what
// came since is read.
func TestSnapshotIsReplay(t *testing.T) {
	records := newDesk(t, 3).answered(t, 900)
	now := records[len(records)-1].At.Add(100 * time.Hour)
	h := &memory{}
	for _, n := range []int{0, 150, 420, 421, 430, 900} {
		h.records = records[:n]
		sameState(t, load(t, h), replayed(records[:n]), now)
	}
	if h.upto != 900 {
		t.Errorf("the snapshot goes to %d", h.upto)
	}
	load(t, h)
	if h.read != 0 {
		t.Errorf("%d records were read again", h.read)
	}
	h.held = 5 // not on the disk: learned from, not kept in a snapshot
	h.records = append(records[:900:900], records[:5]...)
	if s := load(t, h); s.Records() != 905 || h.upto != 900 {
		t.Errorf("%d records, snapshot to %d", s.Records(), h.upto)
	}
}

// Several drills in turn, learned on several processors, give what one after
// the other gives, the skills in the order in which they were met.
func TestLoadOfManyDrills(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(4))
	records := newDesk(t, 3).answered(t, 1500)
	ids := []string{"eq-band", "level-stem", "make-eq", "reverb-stem", "no drill at all"}
	for i := range records {
		records[i].Trial.Tool = ids[i/7%len(ids)]
		records[i].Trial.Condition.Transducer = fmt.Sprint("headphones ", i/700)
	}
	now := records[len(records)-1].At.Add(50 * time.Hour)
	got, want := load(t, &memory{records: records}), replayed(records)
	sameState(t, got, want, now)
	if diff := cmp.Diff(want.Skills(), got.Skills()); diff != "" || len(got.Skills()) < 20 {
		t.Errorf("%d skills: %s", len(got.Skills()), diff)
	}
}

// A snapshot that is torn, of another version or cannot be written changes
// nothing but the time.
func TestSnapshotIsACache(t *testing.T) {
	records := newDesk(t, 3).answered(t, 300)
	now := records[299].At
	want := replayed(records)
	h := &memory{records: records}
	load(t, h)
	whole := h.content
	for name, content := range map[string][]byte{"empty": {}, "half": whole[:len(whole)/2], "noise": []byte("no snapshot at all"), "none": nil,
		"one bit": flipped(whole, len(whole)/2), "the last bit": flipped(whole, len(whole)-1), "the sum": flipped(whole, 0)} {
		h.content, h.failing = content, true
		if s := load(t, h); h.read != 300 {
			t.Errorf("%s: %d records were read", name, h.read)
		} else {
			sameState(t, s, want, now)
		}
	}
	h.content = whole
	name := h.name
	h.name = "practice 0 other"
	sameState(t, load(t, h), want, now)
	h.name = name
	h.upto = 200 // of 300
	sameState(t, load(t, h), want, now)
	ended := errors.New("the file is gone")
	if _, err := practice.Load(t.Context(), broken{h, ended}, tools.All()); !errors.Is(err, ended) {
		t.Errorf("got %v", err)
	}
}

// flipped is content with one bit of one byte changed: a disk does that, and
// SQLite does not notice.
func flipped(content []byte, at int) []byte {
	content = slices.Clone(content)
	content[at] ^= 1
	return content
}

type broken struct {
	*memory
	err error
}

func (b broken) EachSince(context.Context, int64, func(int64, drills.Record)) error { return b.err }

// The same in a real history, and with a row in it that another hand has
// changed: all is made anew.
func TestSnapshotInSQLite(t *testing.T) {
	records := newDesk(t, 3).answered(t, 450)
	path := filepath.Join(t.TempDir(), "history.db")
	db, err := sqlite.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	keep := func(records []drills.Record) {
		if _, _, err := db.Import(t.Context(), func(yield func(drills.Record, error) bool) {
			for _, r := range records {
				if !yield(r, nil) {
					return
				}
			}
		}); err != nil {
			t.Fatal(err)
		}
	}
	keep(records[:300])
	load(t, db)
	keep(records[300:])
	want := replayed(records)
	sameState(t, load(t, db), want, records[449].At)

	other, err := driver.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	for _, change := range []string{
		`content = zeroblob(length(content))`, `content = substr(content, 1, length(content) / 2)`, `content = x''`,
		`upto = upto + 1000000`, `upto = 7`, `upto = -1`, `name = 'nobody'`,
	} {
		if _, err := other.Exec(`UPDATE snapshot SET ` + change); err != nil {
			t.Fatal(err)
		}
		sameState(t, load(t, db), want, records[449].At)
		load(t, db) // from the one that was just made anew
	}
}

// When this fails the same records give another state than they did: raise
// version in snapshot.go, and write the new sum here.
func TestSnapshotVersion(t *testing.T) {
	records := newDesk(t, 3).answered(t, 300)
	h := fnv.New64a()
	for _, r := range replayed(records).Report(records[299].At) {
		fmt.Fprintf(h, "%s %d %.3f %.3f %v;", r.Skill.Region, r.Right, r.Threshold.Audible.Value, r.Lapses.Value, r.Due)
	}
	const want = 0xbe2c9924a73b080
	if got := h.Sum64(); got != want {
		t.Errorf("the sum is %#x, not %#x", got, uint64(want))
	}
}

// Sixty skills with their loops stay under 50 MB.
func TestMemoryOfAState(t *testing.T) {
	records := newDesk(t, 3).answered(t, 200)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	s := practice.NewState(tools.Find)
	for skills := range 12 { // of five regions each
		for i, r := range records {
			r.Trial.Condition.Transducer = fmt.Sprint(skills)
			r.Trial.Loop.StartFrame = 480000 * (i % 30)
			s.Learn(r)
		}
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if mb := float64(after.HeapAlloc-before.HeapAlloc) / 1e6; mb > 50 || mb < 1 {
		t.Errorf("%d skills take %.1f MB", len(s.Skills()), mb)
	} else {
		t.Logf("%d skills take %.1f MB", len(s.Skills()), mb)
	}
	runtime.KeepAlive(s)
}

// BenchmarkNext is the decision about the next trial, with 60 skills.
func BenchmarkNext(b *testing.B) {
	records := newDesk(&testing.T{}, 3).answered(b, 200)
	s := practice.NewState(tools.Find)
	for i := range 12 * 200 {
		r := records[i%200]
		r.Trial.Condition.Transducer = fmt.Sprint(i / 200)
		s.Learn(r)
	}
	tool, _ := tools.Find("eq-band")
	condition := headphones
	condition.Transducer = "0"
	e := practice.NewEngine(practice.Config{State: s, Condition: condition, Trials: 100, Seed: 9, Clock: time.Now,
		Parts: []practice.Part{{Tool: tool, Rung: tool.Rungs[0]}}})
	n := 0
	for b.Loop() {
		e.Next(n + 1)
		e.Told(records[n%200])
		n++
	}
}

// BenchmarkMillion replays a history of a million records (STROP_BENCH_RECORDS
// says otherwise) from the disk, and summarises it from the snapshot.
func BenchmarkMillion(b *testing.B) {
	many := 1_000_000
	if text, ok := os.LookupEnv("STROP_BENCH_RECORDS"); ok {
		fmt.Sscan(text, &many)
	}
	path := filepath.Join(b.TempDir(), "history.db")
	db, err := sqlite.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	records := newDesk(&testing.T{}, 3).answered(b, 5000)
	ids := []string{"eq-band", "level-stem", "make-eq", "reverb-stem"}
	if _, _, err := db.Import(b.Context(), func(yield func(drills.Record, error) bool) {
		for i := range many {
			r := records[i%len(records)]
			r.At = r.At.Add(time.Duration(i/len(records)) * 8760 * time.Hour / 200)
			r.Trial.Number, r.Trial.Tool = i, ids[i/40%len(ids)] // a sitting each
			if !yield(r, nil) {
				return
			}
		}
	}); err != nil {
		b.Fatal(err)
	}
	b.Run("replay", func(b *testing.B) {
		for b.Loop() {
			if err := db.PutSnapshot(b.Context(), "none", nil, 0); err == nil {
				b.Fatal("an empty snapshot was kept")
			}
			if err := db.PutSnapshot(b.Context(), "none", []byte{0}, 0); err != nil {
				b.Fatal(err)
			}
			load(b, db)
		}
		b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)*1e6/float64(many), "s/million")
	})
	b.Run("summary", func(b *testing.B) {
		for b.Loop() {
			load(b, db).Report(records[0].At)
		}
		b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms/summary")
	})
}
