// Command pushcue turns what came home from a camera push into what the customer gets.
package main

func main() {}
