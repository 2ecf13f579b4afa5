//go:build !linux

package browser

import "syscall"

// apart makes a process the head of a group of its own.
func apart() *syscall.SysProcAttr { return &syscall.SysProcAttr{Setpgid: true} }
