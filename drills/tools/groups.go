package tools

import "strop/drills"

// Roles that several drills ask for together.
var (
	voices  = []drills.Role{drills.LeadVocal, drills.BackingVocal, drills.Speech}
	strokes = []drills.Role{drills.Kick, drills.Snare, drills.Tom, drills.Hat, drills.Percussion, drills.DrumMachine, drills.Drums, drills.Overhead, drills.RoomMic}
)
