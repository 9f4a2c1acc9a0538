// Command chestrise runs the nightly job and its parts.
package main

func main() {}
