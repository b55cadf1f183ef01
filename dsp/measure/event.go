package measure

// Event is something found at a place in a clip.
//
//	Frame   its first frame, from the start of the clip
//	Frames  how many frames it lasts
//	SizeDB  its size; what is meant, the meter says
type Event struct {
	Frame, Frames int
	SizeDB        float64
}
