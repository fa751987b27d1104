package ffmpeg

func ignoreInterrupt() {}

func beParent() int { return 0 }
