package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sync"
)

// Where an engine does not give its tree for screen readers away, axe-core works out role
// and name of each element from the document, by the W3C's Accessible Name and Description
// Computation.

// axeSource is axe-core as an expression, read once.
var axeSource = sync.OnceValues(func() (string, error) {
	tree, err := findTree()
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile(filepath.Join(tree.Root, "testdata", "npm", "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		return "", fmt.Errorf(`"go run ./cmd/dev test browser" installs axe-core: %w`, err)
	}
	return "void function() {" + string(text) + "}.call(window)", nil
})

// named lists what has a role and a name and can be seen, and keeps the elements under
// the numbers of the list for marked.
const named = `(() => {
	axe.setup(document);
	try {
		const text = axe.commons.text, aria = axe.commons.aria, kept = window.pitwiseNamed = [], found = [];
		const candidates = document.querySelectorAll("button, a[href], input, select, textarea, summary, h1, h2, h3, [role], [tabindex]");
		for (const e of candidates) {
			if (e.disabled || !e.checkVisibility({checkVisibilityCSS: true}) && e.type !== "file" && !(e.labels && e.labels.length)) continue;
			const name = text.accessibleText(e).trim();
			if (!name) continue;
			found.push({Role: e.tagName === "SUMMARY" ? "button" : aria.getRole(e) || "", Name: name, Number: kept.length});
			kept.push(e);
		}
		return found;
	} finally {
		axe.teardown();
	}
})()`

// marked is the element with the number, as an expression.
func marked(e Element) string { return fmt.Sprintf("window.pitwiseNamed[%d]", e.node) }

// namedElements lists the elements of a document by an engine's way to evaluate.
func namedElements(ctx context.Context, t tab) ([]Element, error) {
	there, err := t.eval(ctx, `typeof axe === "object"`)
	if err != nil {
		return nil, err
	}
	if string(there) != "true" {
		source, err := axeSource()
		if err == nil {
			_, err = t.eval(ctx, source)
		}
		if err != nil {
			return nil, err
		}
	}
	raw, err := t.eval(ctx, named)
	if err != nil {
		return nil, err
	}
	var list []struct {
		Role, Name string
		Number     int
	}
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, err
	}
	var all []Element
	for _, e := range list {
		all = append(all, Element{e.Role, spaces.Replace(e.Name), e.Number})
	}
	return all, nil
}

// calling is the call of a function with an element as this, as an expression.
func calling(e Element, function string) string { return "(" + function + ").call(" + marked(e) + ")" }

// asText is an expression whose value is the JSON of another one's, or undefined; engines
// that do not give values as JSON are asked for it.
func asText(expression string) string {
	return "(async () => JSON.stringify(await (" + expression + ")))()"
}
