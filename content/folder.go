package content

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"strop/content/resample"
	"strop/dsp"
)

// Kept is what somebody decided about a material, by the names of its stems.
type Kept struct {
	Roles  map[string]Role  `json:"roles,omitempty"`
	Faders map[string]Fader `json:"faders,omitempty"`
	Fits   []KeptFit        `json:"fits,omitempty"`
}

// Keeper tells what was kept of the material of a hash: nothing, where it is
// not known. A nil Keeper knows nothing.
type Keeper func(hash string) (Kept, error)

func (k Keeper) kept(hash string) (Kept, error) {
	if k == nil {
		return Kept{}, nil
	}
	return k(hash)
}

// OpenMultitrack opens a folder of stems, or one file, which becomes a
// multitrack of the single stem "mix". It goes on until ctx is done or Close.
//
// Stems are the audio files that lie in the folder itself; what is hidden,
// what macOS leaves in archives, and folders are passed over. They start
// together. The rate is that of most of them; the others are converted. The
// length is that of the longest. A file that cannot be used is named in the
// warnings of the Sheet, and the rest opens.
func OpenMultitrack(ctx context.Context, path string, keep Keeper) (*Multitrack, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", filepath.Base(path), pathless(err))
	}
	if !info.IsDir() {
		return openFile(ctx, path, keep)
	}
	f, err := openFolder(ctx, path, keep)
	if err != nil {
		return nil, err
	}
	return NewMultitrack(ctx, f, f.kept.Fits)
}

// pathless is err without the path that it names.
func pathless(err error) error {
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return pathErr.Err
	}
	return err
}

// folder is a folder of stems.
type folder struct {
	sheet Sheet
	kept  Kept
	files []*stemFile
}

var _ Tracks = (*folder)(nil)

func openFolder(ctx context.Context, path string, keep Keeper) (*folder, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	name := filepath.Base(path)
	list, err := listFolder(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	f := &folder{sheet: Sheet{Name: name, Path: path, Warnings: list.warnings}}
	if err := f.openStems(ctx, list.files); err != nil {
		return nil, fmt.Errorf("%s: %w", name, errors.Join(err, f.Close()))
	}
	if len(f.files) == 0 {
		return nil, fmt.Errorf("%s: %w", name, list.nothing(f.sheet.Warnings))
	}
	f.sheet.Hash, err = HashSet(f.paths())
	if err == nil {
		f.kept, err = keep.kept(f.sheet.Hash)
	}
	if err == nil {
		err = f.atOneRate()
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, errors.Join(err, f.Close()))
	}
	f.nameRoles()
	f.sheet.Warnings = append(f.sheet.Warnings, f.doubts()...)
	return f, nil
}

func (f *folder) paths() (paths []string) {
	for _, s := range f.files {
		paths = append(paths, s.path)
	}
	return paths
}

// openStems reads the heads of files, many at a time. What cannot be opened
// becomes a warning.
func (f *folder) openStems(ctx context.Context, paths []string) error {
	files, stems, errs := make([]*stemFile, len(paths)), make([]Stem, len(paths)), make([]error, len(paths))
	together(len(paths), func(i int) { files[i], stems[i], errs[i] = openStem(ctx, paths[i]) })
	for i := range paths {
		if errs[i] != nil {
			f.sheet.Warnings = append(f.sheet.Warnings, errs[i].Error())
		}
		if files[i] == nil || files[i].frames <= 0 {
			continue
		}
		f.files, f.sheet.Stems = append(f.files, files[i]), append(f.sheet.Stems, stems[i])
	}
	distinct(f.sheet.Stems)
	return ctx.Err()
}

// together calls do for 0 to n−1, as many at a time as there are processors.
func together(n int, do func(i int)) {
	var all sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		free <- struct{}{}
		all.Go(func() {
			do(i)
			<-free
		})
	}
	all.Wait()
}

// openStem opens a file and describes it. Without frames in it the error says
// why there is no stem; with them, why there are fewer than there should be.
func openStem(ctx context.Context, path string) (*stemFile, Stem, error) {
	file, err := Open(path)
	if err != nil {
		return nil, Stem{}, err
	}
	format, base := file.Format(), filepath.Base(path)
	s := &stemFile{path: path, frames: format.Frames}
	switch {
	case format.Frames < 0:
		err = s.spool(ctx, file)
	case file.Seekable():
		s.reopen = func() (reader, error) { return Open(path) }
		err = errors.Join(missingEnd(file), s.put(file, -1))
	default:
		s.pending, err = true, file.Close()
	}
	return s, Stem{
		Name: strings.TrimSuffix(base, filepath.Ext(base)), Path: path,
		Channels: format.Channels, Bits: format.Bits, RateHz: format.RateHz, Frames: s.frames,
	}, err
}

// missingEnd is what a file has to say after its last frame.
func missingEnd(file *File) error {
	if err := file.SeekFrame(file.Format().Frames); err != nil {
		return err
	}
	if n, _ := file.Stream(make([]dsp.Frame, 1)); n > 0 {
		return nil
	}
	return file.Err()
}

// distinct gives stems of one name their extensions too.
func distinct(stems []Stem) {
	count := map[string]int{}
	for _, s := range stems {
		count[s.Name]++
	}
	for i := range stems {
		if s := &stems[i]; count[s.Name] > 1 {
			s.Name = filepath.Base(s.Path)
		}
	}
}

// atOneRate sets the rate of most stems, the higher of two that are as
// common, and the length of the longest.
func (f *folder) atOneRate() error {
	count := map[float64]int{}
	for _, s := range f.sheet.Stems {
		count[s.RateHz]++
	}
	for rateHz, n := range count {
		best := f.sheet.RateHz
		if n > count[best] || n == count[best] && rateHz > best {
			f.sheet.RateHz = rateHz
		}
	}
	rates := map[float64]*resample.Resampler{}
	for i, s := range f.sheet.Stems {
		length := s.Frames
		if s.RateHz != f.sheet.RateHz {
			if rates[s.RateHz] == nil {
				r, err := resample.New(s.RateHz, f.sheet.RateHz)
				if err != nil {
					return err
				}
				rates[s.RateHz] = r
			}
			f.files[i].rate = rates[s.RateHz]
			length = int64(f.files[i].rate.Len(int(length)))
		}
		f.sheet.Frames = max(f.sheet.Frames, length)
	}
	return nil
}

// nameRoles gives the roles that were decided, and those that names say.
func (f *folder) nameRoles() {
	for i := range f.sheet.Stems {
		s := &f.sheet.Stems[i]
		if role, ok := f.kept.Roles[s.Name]; ok {
			s.Role, s.RoleFrom = role, FromUser
		} else if role := RoleOfName(s.Name); role != "" {
			s.Role, s.RoleFrom = role, FromName
		}
	}
	pairByName(f.sheet.Stems)
}

// doubts are reasons to think that the files are not stems of one song.
func (f *folder) doubts() (sentences []string) {
	longest, shortest, lengths, said := 0.0, f.seconds(0), map[int]bool{}, 0
	for i, s := range f.sheet.Stems {
		longest, shortest = max(longest, f.seconds(i)), min(shortest, f.seconds(i))
		lengths[int(f.seconds(i)*4)] = true
		if s.RoleFrom != Unknown || s.Channels == 1 {
			said++
		}
	}
	n := len(f.sheet.Stems)
	switch {
	case n < 2:
	case said == 0 && len(lengths) == n && longest > 60:
		sentences = append(sentences, "The files have nothing in common, neither lengths nor names: they look like separate songs; open each by itself")
	case longest > 1.25*shortest && longest > shortest+5:
		sentences = append(sentences, fmt.Sprintf("The stems last from %s to %s: see that they all start together", clock(shortest), clock(longest)))
	}
	return sentences
}

func (f *folder) seconds(i int) float64 {
	s := f.sheet.Stems[i]
	return float64(s.Frames) / s.RateHz
}

func (f *folder) Sheet() Sheet { return f.sheet }

func (f *folder) Read(ctx context.Context, stem int, dst []dsp.Frame, start int64) error {
	if err := f.files[stem].read(ctx, dst, start); err != nil {
		return pathless(err)
	}
	return nil
}

func (f *folder) Close() error {
	var errs []error
	for _, s := range f.files {
		errs = append(errs, s.close())
	}
	return errors.Join(errs...)
}

// listing is what lies in a folder.
type listing struct {
	files    []string // that may be stems, in the order of people
	folders  []string
	warnings []string
}

// audioExtensions are those of files that are meant to be sound: if they are
// not, that is worth a warning.
var audioExtensions = strings.Fields(".wav .wave .bwf .rf64 .w64 .aif .aiff .aifc .flac .ogg .oga .opus .mp3 .m4a .aac .caf .wv .wma .ape .au .snd")

func listFolder(path string) (l listing, err error) {
	entries, err := os.ReadDir(path)
	if err != nil {
		return l, pathless(err)
	}
	for _, e := range entries {
		if name := e.Name(); !strings.HasPrefix(name, ".") && name != "__MACOSX" {
			l.add(filepath.Join(path, name))
		}
	}
	slices.SortFunc(l.files, func(a, b string) int { return compareNames(filepath.Base(a), filepath.Base(b)) })
	return l, nil
}

// add looks at one entry, through a link if it is one.
func (l *listing) add(path string) {
	sound := slices.Contains(audioExtensions, strings.ToLower(filepath.Ext(path)))
	info, err := os.Stat(path)
	switch {
	case err != nil && sound:
		l.warnings = append(l.warnings, fmt.Sprintf("%s: %v", filepath.Base(path), pathless(err)))
	case err != nil:
	case info.IsDir():
		l.folders = append(l.folders, path)
	case sound || isKnownSound(path):
		l.files = append(l.files, path)
	}
}

// isKnownSound tells whether a file of another name bears the mark of a format
// that is decoded here.
func isKnownSound(path string) bool {
	file, err := os.Open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
		return false
	}
	start := make([]byte, 12)
	n, _ := file.Read(start)
	return decoderOf(start[:n]) != nil
}

// nothing is why no stem was found.
func (l *listing) nothing(warnings []string) error {
	switch {
	case len(l.files) > 0 || len(warnings) > 0:
		return fmt.Errorf("none of its files can be used as a stem (%s)", warnings[0])
	case len(l.folders) > 0:
		return fmt.Errorf("it holds folders, no stems: open one of them, such as %s", filepath.Base(l.folders[0]))
	}
	return errors.New("there is no audio file in it")
}

// compareNames is the order of people: letters as they are, without regard to
// capitals, numbers by their size.
func compareNames(a, b string) int {
	x, y := []byte(strings.ToLower(a)), []byte(strings.ToLower(b))
	for len(x) > 0 && len(y) > 0 {
		m, n := digits(x), digits(y)
		if m > 0 && n > 0 {
			p, q := bytes.TrimLeft(x[:m], "0"), bytes.TrimLeft(y[:n], "0")
			if c := cmp.Or(cmp.Compare(len(p), len(q)), bytes.Compare(p, q)); c != 0 {
				return c
			}
			x, y = x[m:], y[n:]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

func digits(b []byte) (n int) {
	for n < len(b) && b[n] >= '0' && b[n] <= '9' {
		n++
	}
	return n
}
