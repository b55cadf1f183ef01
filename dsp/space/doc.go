// Package space holds what places a sound in a space: reverbs by convolution
// and by a network of delays, echo, and the modulated delays.
package space
