package browser

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"golang.org/x/net/websocket"
)

// bidi is a connection that speaks WebDriver BiDi: commands with answers, and events.
//
// Source: W3C WebDriver BiDi.
type bidi struct {
	socket *websocket.Conn
	hear   func(method string, params json.RawMessage) // on a goroutine of its own, in order

	mu      sync.Mutex
	last    int
	answers map[int]chan answer
	ended   error
}

type answer struct {
	result json.RawMessage
	err    error
}

// bidiOrigin is the origin that the browser is told to take commands from.
const bidiOrigin = "http://127.0.0.1"

func dialBidi(address string, hear func(string, json.RawMessage)) (*bidi, error) {
	socket, err := websocket.Dial(address, "", bidiOrigin)
	if err != nil {
		return nil, err
	}
	socket.MaxPayloadBytes = 256 << 20
	b := &bidi{socket: socket, hear: hear, answers: map[int]chan answer{}}
	go b.read()
	return b, nil
}

func (b *bidi) read() {
	events := make(chan func(), 4096)
	defer close(events)
	go func() {
		for f := range events {
			f()
		}
	}()
	for {
		var m struct {
			Type, Method, Error, Message string
			ID                           *int
			Params, Result               json.RawMessage
		}
		var text []byte
		err := websocket.Message.Receive(b.socket, &text)
		if err == nil {
			err = json.Unmarshal(text, &m)
		}
		b.mu.Lock()
		if err != nil {
			b.ended = fmt.Errorf("the browser hung up: %w", err)
			for _, c := range b.answers {
				c <- answer{err: b.ended}
			}
			b.answers = map[int]chan answer{}
			b.mu.Unlock()
			return
		}
		if m.ID == nil {
			b.mu.Unlock()
			events <- func() { b.hear(m.Method, m.Params) }
			continue
		}
		c := b.answers[*m.ID]
		delete(b.answers, *m.ID)
		b.mu.Unlock()
		a := answer{result: m.Result}
		if m.Type == "error" {
			a.err = errors.New(m.Error + ": " + m.Message)
		}
		if c != nil {
			c <- a
		}
	}
}

// do sends a command and puts what answers it into result, if that is not nil.
func (b *bidi) do(ctx context.Context, method string, params, result any) error {
	c := make(chan answer, 1)
	b.mu.Lock()
	if b.ended != nil {
		b.mu.Unlock()
		return b.ended
	}
	b.last++
	id := b.last
	b.answers[id] = c
	err := websocket.JSON.Send(b.socket, map[string]any{"id": id, "method": method, "params": params})
	b.mu.Unlock()
	if err != nil {
		return err
	}
	select {
	case a := <-c:
		if a.err != nil {
			return fmt.Errorf("%s: %w", method, a.err)
		}
		if result == nil {
			return nil
		}
		return json.Unmarshal(a.result, result)
	case <-ctx.Done():
		b.mu.Lock()
		delete(b.answers, id)
		b.mu.Unlock()
		return fmt.Errorf("%s: %w", method, ctx.Err())
	}
}

func (b *bidi) close() { b.socket.Close() }
