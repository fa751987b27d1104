// Package words holds the product's words in each language it speaks: what is
// seen in pipes, the header words of logs, and the labels of what is handed over.
// One file a language (words/*.toml), so that others can be added.
package words
