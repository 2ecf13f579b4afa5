package main

import (
	"context"
	"os"
	"os/exec"
)

// screens runs the browser tests that photograph the page.
func screens(ctx context.Context, root string, args []string) error {
	cmd := exec.CommandContext(ctx, "go", "test", "-tags", "browser", "-count", "1", "-v", "-run", "Screens|Picture|PageLoads|FirstScreen|Story", "./cmd/dev/...")
	cmd.Dir = root
	cmd.Env = append(os.Environ(), "PITWISE_SCREENS=1")
	cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
	return cmd.Run()
}
