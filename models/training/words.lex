thou 0 : th aw1
torqued 0 : t ao1 r k t
millimetres 0 : m ih1 l ax0 m iy1 t er0 z
millimeters 0 : m ih1 l ax0 m iy1 t er0 z
leads 0 : l iy1 d z
lead 0 : l iy1 d
reused 0 : r iy0 y uw1 z d
niner 0 : n ay1 n er0
thousandths 0 : th aw1 z ax0 n d th s
