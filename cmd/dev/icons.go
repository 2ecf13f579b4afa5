package main

import (
	"context"
	"encoding/base64"
	"fmt"
	"os"
	"path/filepath"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pitwise/cmd/dev/browser"
)

// icons draws the PNG icons from the SVG ones, each at its size.
func icons(ctx context.Context, root string, args []string) error {
	path, err := browser.Find()
	if err != nil {
		return err
	}
	allocator, cancel := chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.Flag("no-sandbox", os.Geteuid() == 0), chromedp.Flag("hide-scrollbars", true))...)
	defer cancel()
	tab, cancelTab := chromedp.NewContext(allocator)
	defer cancelTab()
	dir := filepath.Join(root, "web", "icons")
	for _, icon := range []struct {
		from, to string
		size     int64
	}{
		{"pitwise.svg", "pitwise-192.png", 192},
		{"pitwise.svg", "pitwise-512.png", 512},
		{"pitwise-mask.svg", "pitwise-mask-512.png", 512},
		{"pitwise-mask.svg", "pitwise-touch-180.png", 180},
	} {
		svg, err := os.ReadFile(filepath.Join(dir, icon.from))
		if err != nil {
			return err
		}
		html := fmt.Sprintf(`<body style="margin:0"><img style="display:block" width="%d" height="%d" src="data:image/svg+xml;base64,%s">`,
			icon.size, icon.size, base64.StdEncoding.EncodeToString(svg))
		png, err := chromedp.Run(tab, func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
			if _, err := cdp.Call(ctx, t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
				Width: icon.size, Height: icon.size, DeviceScaleFactor: 1}); err != nil {
				return nil, err
			}
			if _, err := cdp.Call(ctx, t, emulation.SetDefaultBackgroundColorOverride, emulation.SetDefaultBackgroundColorOverrideParams{
				Color: &cdp.RGBA{}}); err != nil {
				return nil, err
			}
			if err := chromedp.Do(ctx, chromedp.Navigate("data:text/html;base64,"+base64.StdEncoding.EncodeToString([]byte(html)))); err != nil {
				return nil, err
			}
			shot, err := cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng})
			return shot.Data, err
		})
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, icon.to), png, 0o644); err != nil {
			return err
		}
		fmt.Printf("%s: %d bytes\n", icon.to, len(png))
	}
	return nil
}
