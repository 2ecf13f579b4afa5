package browser

import (
	"bytes"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"time"
)

// process is a program that runs until it is ended, with all that it started.
type process struct {
	cmd  *exec.Cmd
	done chan struct{} // closed when it has ended
	said *lines
}

// begin starts a program. hear, if not nil, is told each line that it writes.
func begin(cmd *exec.Cmd, hear func(line string)) (*process, error) {
	p := &process{cmd: cmd, done: make(chan struct{}), said: &lines{hear: hear}}
	cmd.SysProcAttr = apart()
	cmd.Stdout, cmd.Stderr = p.said, p.said
	cmd.WaitDelay = time.Second
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	go func() {
		cmd.Wait()
		close(p.done)
	}()
	return p, nil
}

// kill ends every process of the program's group with kill -9.
func (p *process) kill() error {
	err := syscall.Kill(-p.cmd.Process.Pid, syscall.SIGKILL)
	<-p.done
	return err
}

// end waits for the program to end by itself, for so long.
func (p *process) end(patience time.Duration) error {
	select {
	case <-p.done:
		return nil
	case <-time.After(patience):
		return fmt.Errorf("%s runs on after %v", p.cmd.Path, patience)
	}
}

// lines keeps what a program writes and hands on each line.
type lines struct {
	hear func(string)

	mu   sync.Mutex
	all  []string
	rest bytes.Buffer
	news chan struct{}
}

func (l *lines) Write(b []byte) (int, error) {
	l.mu.Lock()
	l.rest.Write(b)
	var whole []string
	for {
		line, err := l.rest.ReadString('\n')
		if err == io.EOF {
			l.rest.WriteString(line)
			break
		}
		whole = append(whole, strings.TrimRight(line, "\r\n"))
	}
	l.all = append(l.all, whole...)
	if l.news != nil && len(whole) > 0 {
		close(l.news)
		l.news = nil
	}
	l.mu.Unlock()
	if l.hear != nil {
		for _, line := range whole {
			l.hear(line)
		}
	}
	return len(b), nil
}

// wait returns what comes after the mark in the first line that has it.
func (p *process) wait(mark string, patience time.Duration) (string, error) {
	end := time.After(patience)
	for {
		p.said.mu.Lock()
		for _, line := range p.said.all {
			if _, after, ok := strings.Cut(line, mark); ok {
				p.said.mu.Unlock()
				return after, nil
			}
		}
		if p.said.news == nil {
			p.said.news = make(chan struct{})
		}
		news, all := p.said.news, strings.Join(p.said.all, "\n")
		p.said.mu.Unlock()
		select {
		case <-news:
		case <-p.done:
			return "", fmt.Errorf("%s ended: %s", p.cmd.Path, all)
		case <-end:
			return "", fmt.Errorf("%s does not say %q: %s", p.cmd.Path, mark, all)
		}
	}
}
