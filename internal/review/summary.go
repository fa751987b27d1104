package review

import (
	"slices"
	"strings"

	"golang.org/x/net/html"

	"pushcue/internal/handover"
	"pushcue/internal/reach"
)

// pageBytes bounds what is read of a customer's page.
const pageBytes = 64 << 20

// line is one line of the summary on the customer's page.
type line struct {
	Kind string `json:"kind"` // h2, h3, p, li: as the page sets it out
	Text string `json:"text"`
}

// summaryOf is what the customer's page that was made says first, line by line; none where
// no page was made.
func summaryOf(f *handover.Finished) []line {
	page, err := reach.Beneath(f.Dir, "index.html", pageBytes)
	if err != nil {
		return nil
	}
	defer page.Close()
	root, err := html.Parse(page)
	if err != nil {
		return nil
	}
	var all []line
	var walk func(n *html.Node, within bool)
	walk = func(n *html.Node, within bool) {
		if n.Type == html.ElementNode {
			within = within || n.Data == "section" && hasClass(n, "short")
			own := n.Data == "h2" && n.Parent != nil && hasClass(n.Parent, "push") // which push of a visit
			if own || within && slices.Contains([]string{"h2", "h3", "p", "li"}, n.Data) {
				if text := strings.Join(strings.Fields(textOf(n)), " "); text != "" {
					all = append(all, line{n.Data, text})
				}
				return
			}
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c, within)
		}
	}
	walk(root, false)
	return all
}

func hasClass(n *html.Node, class string) bool {
	for _, a := range n.Attr {
		if a.Key == "class" && slices.Contains(strings.Fields(a.Val), class) {
			return true
		}
	}
	return false
}

func textOf(n *html.Node) string {
	if n.Type == html.TextNode {
		return n.Data
	}
	var b strings.Builder
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		b.WriteString(textOf(c))
	}
	return b.String()
}
