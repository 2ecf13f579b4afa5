package browser

import "syscall"

// apart makes a process the head of a group of its own, which ends with this one.
func apart() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGKILL}
}
