package tools

import "strop/drills"

// voices are the roles of whoever sings or speaks.
var voices = []drills.Role{drills.LeadVocal, drills.BackingVocal, drills.Speech}
