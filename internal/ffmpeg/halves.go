package ffmpeg

// Halves is ffmpeg's expression for leaf(i) of the last of n, from one up, whose start
// isn't above the variable; below the first start it is the first's. It asks by halves:
// nine questions for five hundred, where ffmpeg's parser refuses a sum of two hundred.
func Halves(variable string, n int, start, leaf func(int) string) string {
	var between func(from, to int) string
	between = func(from, to int) string {
		if to-from == 1 {
			return leaf(from)
		}
		mid := (from + to) / 2
		return "if(lt(" + variable + "," + start(mid) + ")," + between(from, mid) + "," + between(mid, to) + ")"
	}
	return between(0, n)
}
