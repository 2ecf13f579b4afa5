package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"

	"pitwise/cmd/dev/stories"
	"pitwise/web/host"
	"pitwise/web/site"
)

// serveStories serves the program that shows a named fixture in place of the
// page, and prints an address for each.
func serveStories(ctx context.Context, root string, args []string) error {
	s, err := site.Tree{Root: root}.Build(ctx, "./cmd/dev/stories/page", "/", 0)
	if err != nil {
		return err
	}
	scratch, err := os.MkdirTemp("", "pitwise-stories-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	dir := filepath.Join(scratch, "page")
	if err := s.Write(dir, false); err != nil {
		return err
	}
	h, err := host.Load(dir, false)
	if err != nil {
		return err
	}
	// Another port than the page's, so that neither finds the other's store.
	l, err := net.Listen("tcp", "127.0.0.1:8788")
	if err != nil {
		return err
	}
	for _, story := range stories.All {
		fmt.Printf("http://%s/?story=%s\n", l.Addr(), story.Name)
	}
	server := h.Server()
	mux := http.NewServeMux()
	mux.Handle("/", server.Handler)
	mux.HandleFunc(stories.AskedAt, stories.Serve)
	server.Handler = mux
	context.AfterFunc(ctx, func() { server.Close() })
	if err := server.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
