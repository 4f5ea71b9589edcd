package decode

//#include "shim.h"
import "C"

// Silence keeps FFmpeg's log off the terminal. Opening a file does the same;
// Silence is for whoever uses FFmpeg without reading.
func Silence() { C.np_log_install() }
