//go:build !unix

package main

import "os"

// peak is the most memory that a process had, which this system does not tell.
func peak(*os.ProcessState) int64 { return 0 }
