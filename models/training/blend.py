# The mean of two checkpoints' averaged weights: on one path of training it hears better than either end (see README.md).
# blend.py FIRST SECOND OUT : what goes on from OUT goes on from SECOND's plan and current weights.
import sys

import torch


def main(first, second, out):
    a, b = (torch.load(path, map_location="cpu") for path in (first, second))
    assert a["config"]["offsets"] == b["config"]["offsets"], "not the same network"
    b["average"] = {k: ((a["average"][k].float() + v.float()) / 2).half() if v.is_floating_point() else v
                    for k, v in b["average"].items()}
    torch.save(b, out)


if __name__ == "__main__":
    main(*sys.argv[1:4])
